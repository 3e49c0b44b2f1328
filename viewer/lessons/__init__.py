"""Lessons for apprentices: scenes on live geometry, constructions, questions and sheets."""
