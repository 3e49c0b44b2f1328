"""Brimcheck: does this artwork print from that ink cup?"""

__version__ = "0.1.0"
