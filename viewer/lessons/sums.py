"""Lines of a worked sum, in the words of the file: squares, their sum, the root.

A root says whether it is exact or how it was rounded, and stands there as the answer says it.
"""

from __future__ import annotations

from fractions import Fraction

from viewer.lessons.answers import NumberAnswer, Rounding
from viewer.lessons.texts import Words
from viewer.sizing.roots import plain, root_of

Number = int | Fraction


def needed(square: Number) -> NumberAnswer:
    """A size that is needed, in mm, the root of ``square``: rounded up where it is shown."""
    return NumberAnswer(root_of(Fraction(square)), rounding="up")


def largest(square: Number) -> NumberAnswer:
    """The largest size that fits, in mm, the root of ``square``: rounded down."""
    return NumberAnswer(root_of(Fraction(square)), rounding="down")


def digits(number: Number) -> str:
    """A number in full. ValueError where six decimals do not hold it: see ``shown_up``."""
    if (Fraction(number) * 10**6).denominator != 1:
        raise ValueError(f"{number} cannot be written in full")
    return plain(Fraction(number))


def shown_up(number: Number) -> Fraction:
    """The number that is written for another: itself, or rounded up to four decimals."""
    return Fraction(plain(Fraction(number)))


def rounded_line(words: Words, line: str, how: Rounding | None) -> str:
    """A line that ends in a number, with how that was rounded; None where it is exact."""
    return line if how is None else words.say(f"rounded-{how}", sum=line)


def squared(words: Words, side: Number) -> str:
    """``30 x 30 = 900``."""
    return words.say("squared", side=digits(side), square=digits(side * side))


def root_of_square(words: Words, square: Number, root: NumberAnswer) -> str:
    """``root of 900 = 30``, or the root with how it was rounded."""
    key = "root-exact" if root.is_whole_shown else f"root-{root.rounding}"
    return words.say(key, square=digits(square), root=root.number())


def diagonal_lines(words: Words, width: Number, height: Number) -> tuple[str, ...]:
    """The diagonal of a rectangle, line by line."""
    a, b = width * width, height * height
    return (
        squared(words, width),
        squared(words, height),
        words.say("added", one=digits(a), other=digits(b), total=digits(a + b)),
        root_of_square(words, a + b, needed(a + b)),
    )


def other_side_lines(words: Words, diagonal: Number, side: Number) -> tuple[str, ...]:
    """The longest other side of a rectangle with this diagonal, line by line."""
    a, b = diagonal * diagonal, side * side
    return (
        squared(words, diagonal),
        squared(words, side),
        words.say("taken-away", one=digits(a), other=digits(b), left=digits(a - b)),
        root_of_square(words, a - b, largest(a - b)),
    )
