"""Measuring against drawings whose true extent is known."""
