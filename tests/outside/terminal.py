"""Looks at the program as at a terminal of 80 columns: widths, colour, NO_COLOR, bars, --quiet, --json, errors with help.

Usage: terminal.py BINARY SCRATCH_DIR
Needs nothing but Python's standard library.
"""

import fcntl
import json
import os
import pty
import re
import struct
import subprocess
import sys
import termios
from pathlib import Path

WIDTH = 80
CODES = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
COLOUR = re.compile(r"\x1b\[[0-9;]*m")


def at_terminal(command: list[str], **environment: str) -> tuple[int, str]:
    """Exit code and everything that reaches the terminal, its control codes included."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, WIDTH, 0, 0))
    around = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "CLICOLOR", "COLUMNS", "CI")}
    child = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, env=around | {"TERM": "xterm-256color"} | environment)
    os.close(theirs)
    seen = b""
    while True:
        try:
            part = os.read(ours, 65536)
        except OSError:
            break
        if not part:
            break
        seen += part
    os.close(ours)
    return child.wait(), seen.decode()


def too_wide(seen: str) -> list[str]:
    """Lines wider than the terminal that have a blank to break at."""
    lines = re.split(r"[\r\n]+", CODES.sub("", seen))
    return [line for line in lines if len(line) > WIDTH and " " in line.strip()[:WIDTH]]


def main(binary: str, scratch: Path) -> None:
    checked = 0

    def check(holds: bool, what: str) -> None:
        nonlocal checked
        assert holds, what
        checked += 1

    invent = [binary, "invent", "--poles", "600", "--seed", "2", "--dirt", "--overwrite", "--out", str(scratch / "lists")]
    subprocess.run(invent, check=True, capture_output=True)
    programme = str(scratch / "lists" / "programme.toml")
    plan = [binary, "plan", programme, "--trials", "20", "--overwrite", "--out", str(scratch / "plan")]
    tables = [
        ["--help"],
        ["plan", "--help"],
        ["curves"],
        ["curves", "--second-opinion"],
        ["strength", "--diameter", "300"],
        ["check", programme],
        ["check", "--explain", "P104"],
    ]
    for arguments in tables:
        code, seen = at_terminal([binary, *arguments])
        check(code in (0, 1) and len(seen) > 100, f"{arguments}: {code}")
        check(not too_wide(seen), f"{arguments}: {too_wide(seen)[:2]}")

    code, seen = at_terminal(plan)
    check(code == 0 and "never clears a pole" in CODES.sub("", seen).replace("\r\n", " ").replace("  ", " "), "a plan says its caution")
    check(not too_wide(seen), f"plan: {too_wide(seen)[:2]}")
    # Which parts are seen depends on how fast the machine is; the first is drawn before the work begins.
    check(re.search(r"\[#* *\] estimating: planning", seen) is not None, "a long step has a bar")
    _, seen = at_terminal([*plan, "--quiet"])
    check("planning" not in seen and "DANGER" in seen, "--quiet shows no bar and does not hide a danger")
    code, seen = at_terminal([*plan, "--json"])
    answer = seen[seen.index("{") :]
    check("overview" in json.loads(answer), "--json at a terminal is JSON still")
    piped = subprocess.run([*plan, "--json"], capture_output=True, text=True, check=True)
    check(json.loads(piped.stdout)["overview"]["poles"] > 0, "--json in a pipe has the overview")
    check(piped.stderr == "", "no bar goes into a pipe")
    piped = subprocess.run(plan, capture_output=True, text=True, check=True)
    check("\x1b" not in piped.stdout + piped.stderr, "no control code goes into a pipe")

    _, coloured = at_terminal([binary, "plan", "--help"])
    check(COLOUR.search(coloured) is not None, "help has colour at a terminal")
    _, plain = at_terminal([binary, "plan", "--help"], NO_COLOR="1")
    check(COLOUR.search(plain) is None, "NO_COLOR takes it away")
    piped = subprocess.run([binary, "plan", "--help"], capture_output=True, text=True, check=True)
    check("\x1b" not in piped.stdout, "and so does a pipe")

    code, seen = at_terminal([binary, "plan", str(scratch / "nowhere.toml"), "--out", str(scratch / "none")])
    check(code == 2 and "nowhere.toml" in seen and not (scratch / "none").exists(), "a missing file ends with 2 and writes nothing")
    code, seen = at_terminal([binary, "plan", programme, "--set", "polcy.method=sound", "--out", str(scratch / "none")])
    check(code == 2 and "policy" in seen, "a mistyped key is told with what was probably meant")
    code, seen = at_terminal([binary, "plna"])
    check(code == 2 and "plan" in CODES.sub("", seen), "a mistyped command too")
    print(f"terminal: {checked} checks passed")


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
