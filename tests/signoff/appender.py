"""A program that adds rows until it is killed: ``python appender.py RECORD NAME``.

It says "ready", then number and hash of each row as soon as the record has taken it.
"""

from __future__ import annotations

import itertools
import sys

from tests.signoff.entries import entry
from viewer.signoff import Record

if __name__ == "__main__":
    record = Record(sys.argv[1], busy_s=30.0)
    most = int(sys.argv[3]) if len(sys.argv) > 3 else None
    print("ready", flush=True)
    for number in itertools.count() if most is None else range(most):
        row = record.append(entry(f"{sys.argv[2]} {number}", note="x" * 300))
        print(row.number, row.hash, flush=True)
