"""Foreign libraries that may crash on a drawing, each in a process of its own.

Started as ``python -m viewer.sheets.child WHAT``; one question on the standard input,
one answer on the standard output, as `wire` messages.
"""

from __future__ import annotations

import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

from viewer.artwork.pool import call_timeout_s
from viewer.artwork.wire import failure_answer, read_message, write_message
from viewer.errors import ArtworkError, RenderError

_TIMES_LONGER = 2.0
"""A whole page is written here, where a renderer's question is about a window."""


def ask_child(what: str, blob: bytes = b"", **header: Any) -> tuple[dict[str, Any], bytes]:
    """Have ``svg-to-pdf`` or ``picture`` done. RenderError when the process dies or hangs."""
    question = BytesIO()
    write_message(question, header, blob)
    root = str(Path(__file__).resolve().parents[2])
    env = dict(os.environ)
    env["PYTHONPATH"] = os.pathsep.join([root, *filter(None, [env.get("PYTHONPATH")])])
    try:
        done = subprocess.run(
            [sys.executable, "-P", "-m", "viewer.sheets.child", what],
            input=question.getvalue(),
            capture_output=True,
            timeout=_TIMES_LONGER * call_timeout_s(),
            env=env,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise RenderError("writing the sheet took too long") from None
    answer = read_message(BytesIO(done.stdout))
    if answer is None:
        raise RenderError("the process that writes the sheet died")
    told, data = answer
    if not told.get("ok"):
        code, text = str(told.get("code", "render-failed")), str(told.get("message", ""))
        kind = RenderError if code in ("render-failed", "memory") else ArtworkError
        raise kind(text, code=code)
    return told, data


def main() -> int:
    """Answer one question."""
    from viewer.artwork.worker import limit_memory

    limit_memory()
    stream_out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints must not end up in the answer
    message = read_message(sys.stdin.buffer)
    if message is None:
        return 1
    header, blob = message
    answer: dict[str, Any] = {}
    try:
        if sys.argv[1] == "svg-to-pdf":
            from viewer.sheets.cairo_pdf import svg_to_pdf

            data = svg_to_pdf(blob.decode())
        else:
            from viewer.sheets.embed import embeddable

            answer, data = embeddable(header["path"], int(header["page"]), str(header["target"]))
        answer["ok"] = True
    except Exception as error:
        answer, data = failure_answer(error), b""
    write_message(stream_out, answer, data)
    return 0


if __name__ == "__main__":
    sys.exit(main())
