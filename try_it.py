"""Set up brimcheck in this folder and open artwork: ``python3 try_it.py [FILE]``.

Makes the virtual environment ``.venv`` when it is missing or out of date, then
hands every argument on to ``brimcheck``. Without any, demo artwork is opened.
Standard library only. The syntax is old on purpose: an old Python must get as
far as the version check.
"""

import hashlib
import json
import os
import subprocess
import sys

ROOT = os.path.dirname(os.path.abspath(__file__))
VENV = os.path.join(ROOT, ".venv")
STAMP = os.path.join(VENV, "brimcheck-setup.json")
NEEDED = (3, 11)


def say(text: str) -> None:
    """Print one line of what is being done, at once."""
    print("brimcheck set-up: " + text, flush=True)


def venv_python() -> str:
    """Path of the environment's interpreter, whether it exists or not."""
    parts = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    return os.path.join(VENV, *parts)


def digest() -> str:
    """What an installed environment depends on, as one text to compare."""
    total = hashlib.sha256(ROOT.encode("utf-8"))
    for name in ("pyproject.toml", "constraints.txt"):
        with open(os.path.join(ROOT, name), "rb") as stream:
            total.update(stream.read())
    return total.hexdigest()


def installed_extras(wanted_digest: str) -> set:
    """Extras installed by an earlier run, or None when it is missing or out of date."""
    try:
        with open(STAMP, encoding="utf-8") as stream:
            stamp = json.load(stream)
        if stamp["digest"] == wanted_digest:
            return set(stamp["extras"])
    except (OSError, ValueError, KeyError, TypeError):
        pass
    return None


def interpreter_works() -> bool:
    """True when ``.venv`` has a Python that is new enough and has pip."""
    check = "import sys, pip; sys.exit(sys.version_info < (%d, %d))" % NEEDED
    try:
        return subprocess.call([venv_python(), "-c", check], stderr=subprocess.DEVNULL) == 0
    except OSError:
        return False


def make_environment() -> None:
    """Create ``.venv``, or leave with one line that says why it cannot be."""
    if os.path.isdir(VENV) and not os.path.exists(os.path.join(VENV, "pyvenv.cfg")):
        sys.exit("%s exists but is no virtual environment: move it away and try again" % VENV)
    try:
        import ensurepip  # noqa: F401
        import venv
    except ImportError:
        sys.exit(
            "This Python cannot make a virtual environment; on Debian and Ubuntu:"
            " sudo apt install python3-venv"
        )
    say("making the virtual environment .venv")
    try:
        venv.create(VENV, clear=True, with_pip=True)
    except (OSError, subprocess.CalledProcessError) as error:
        sys.exit("The virtual environment could not be made: %s" % error)


def prepare(*extras: str) -> str:
    """Bring ``.venv`` up to date with these extras; return its interpreter's path."""
    if sys.version_info < NEEDED:
        sys.exit(
            "brimcheck needs Python %d.%d or newer; this is Python %d.%d (%s)"
            % (NEEDED + sys.version_info[:2] + (sys.executable,))
        )
    wanted = digest()
    works = interpreter_works()
    present = installed_extras(wanted) if works else None
    if present is not None and set(extras) <= present:
        return venv_python()
    if not works:
        make_environment()
    together = sorted(set(extras) | (present or set()))
    target = "." + ("[%s]" % ",".join(together) if together else "")
    command = [venv_python(), "-m", "pip", "install", "--disable-pip-version-check", "--quiet"]
    say("installing into .venv (needs the network, once): pip install -e %s" % target)
    code = subprocess.call([*command, "-c", "constraints.txt", "-e", target], cwd=ROOT)
    if code != 0:
        say("the installation failed (see above); nothing outside .venv was changed")
        sys.exit(code)
    with open(STAMP, "w", encoding="utf-8") as stream:
        json.dump({"digest": wanted, "extras": together}, stream)
    return venv_python()


def main() -> int:
    """Set up, then run ``brimcheck`` with the arguments given."""
    python = prepare()
    arguments = sys.argv[1:] or [os.path.join(ROOT, "assets_demo", "pennant.svg")]
    say("opening " + " ".join(arguments))
    return subprocess.call([python, "-m", "viewer", *arguments])


if __name__ == "__main__":
    sys.exit(main())
