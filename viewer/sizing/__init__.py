"""Sizing by numbers alone: no file, only what somebody says on the telephone."""

from __future__ import annotations

from viewer.sizing.answer import PART_WORDS, CupAnswer, SizeAnswer, answer_size
from viewer.sizing.bounds import CircleRange, circle_range
from viewer.sizing.cup_limits import max_image_mm
from viewer.sizing.grades import GRADE_WORDS, Grade, grade, grade_words
from viewer.sizing.measures import (
    SIZE_NOTATION,
    Measure,
    exact_measure,
    is_pair,
    parse_measure,
    parse_sides,
)
from viewer.sizing.press_room import PressRoom, Room
from viewer.sizing.roots import Root, decimal_down, decimal_up, plain
from viewer.sizing.shapes import SHAPE_NOTATION, Shape, SizeQuery, parse_shape
from viewer.sizing.sums import Worked, worked_sums

__all__ = [
    "GRADE_WORDS",
    "PART_WORDS",
    "SHAPE_NOTATION",
    "SIZE_NOTATION",
    "CircleRange",
    "CupAnswer",
    "Grade",
    "Measure",
    "PressRoom",
    "Room",
    "Root",
    "Shape",
    "SizeAnswer",
    "SizeQuery",
    "Worked",
    "answer_size",
    "circle_range",
    "decimal_down",
    "decimal_up",
    "exact_measure",
    "grade",
    "grade_words",
    "is_pair",
    "max_image_mm",
    "parse_measure",
    "parse_shape",
    "parse_sides",
    "plain",
    "worked_sums",
]
