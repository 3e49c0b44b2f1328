"""Sheets at true scale: the artwork placed on a plate-sized page.

A sheet is read back and compared with what was measured before anybody gets it. Nothing
is imported here, so that the child processes start quickly: see `viewer.sheets.placed`.
"""
