"""``brimcheck size WxH``: which cup for numbers alone, without a file."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence

from viewer.press import Press
from viewer.report import to_json
from viewer.report.size_report import size_to_dict, size_to_text
from viewer.sizing import Shape, SizeQuery, answer_size, parse_measure, parse_shape, parse_sides

EXIT_FITS = 0
EXIT_NOT_SURE = 1


def size_words(words: Sequence[str]) -> list[str]:
    """The words of a call with signs that argparse would take for options made harmless.

    ``-5x8`` reaches its own reader, which says what is wrong with it.
    """
    return [
        "\u2212" + word[1:] if re.match(r"-[\d.,]+\s*\S*[xX\u00d7]", word) else word
        for word in words
    ]


def query_from(found: argparse.Namespace) -> SizeQuery:
    """The numbers of a call. ``66 x 88`` may come as one word or as several."""
    text = " ".join(found.words).strip()
    diagonal = None if found.diagonal is None else parse_measure(found.diagonal, "--diagonal")
    shape = Shape() if found.shape is None else parse_shape(found.shape, "--shape")
    if not found.words:
        return SizeQuery(diagonal=diagonal, shape=shape)
    width, height = parse_sides(text)
    return SizeQuery(width, height, diagonal, shape)


def size(query: SizeQuery, press: Press, *, as_json: bool = False) -> int:
    """Print the answer. 0: some cup surely fits; 1: none does."""
    answer = answer_size(query, press)
    print(to_json(size_to_dict(answer)) if as_json else size_to_text(answer))
    return EXIT_NOT_SURE if answer.smallest_cup is None else EXIT_FITS
