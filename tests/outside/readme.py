"""Holds the page that the README shows to what its command really prints.

Usage: readme.py README.md PAGE [--write]
PAGE is a file with what the command printed; --write puts it into the README. Run by .ci/run.
"""

import sys
from pathlib import Path

START, END = "<!-- output -->\n```text\n", "```\n<!-- end -->"


def main(readme: Path, page: Path, write: bool) -> None:
    text = readme.read_text(encoding="utf-8")
    printed = page.read_text(encoding="utf-8")
    assert len(printed.splitlines()) > 20, "the command printed next to nothing"
    before, rest = text.split(START)
    shown, after = rest.split(END, 1)
    if write:
        readme.write_text(before + START + printed + END + after, encoding="utf-8")
        return
    assert shown == printed, (
        f"{readme} shows another page than its command prints; look at both, then: readme.py {readme} {page} --write"
    )
    print(f"readme: the {len(printed.splitlines())} lines shown are what the command prints")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), "--write" in sys.argv[3:])
