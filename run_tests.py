"""Set up brimcheck in this folder and run its tests: ``python3 run_tests.py [PYTEST OPTIONS]``.

Makes the virtual environment ``.venv`` when it is missing or out of date. Without options
every test runs, on all processors. The exit code is pytest's own.
"""

import subprocess
import sys

from try_it import ROOT, prepare, say


def main() -> int:
    """Set up with everything the tests need, then hand over to pytest."""
    python = prepare("test")
    say("running the tests")
    options = sys.argv[1:] or ["-n", "auto", "--dist", "loadfile"]
    return subprocess.call([python, "-m", "pytest", *options], cwd=ROOT)


if __name__ == "__main__":
    sys.exit(main())
