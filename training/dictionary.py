"""The pronouncing dictionary as the coach ships it, from the published file.

python dictionary.py cmudict.dict OUT.gz

cmudict.dict is that of the repository cmusphinx/cmudict at commit 0f8072f8 (Carnegie Mellon University, BSD-style licence:
coach/knowledge/data/LICENSE-cmudict.txt). Kept: the first pronunciation of each word, without stress, which is all that
coach/judge/sounds.py compares. The text holds all words, an empty line, all pronunciations in the same order: made a
dictionary in a third of the time that lines of both take. Written to the byte the same each time.
"""

from __future__ import annotations

import gzip
import hashlib
import re
import sys
from pathlib import Path

SOURCE_SHA256 = "81917843c7f44ce2b094ac63873c2c7a4cf802040792c455ba3ca406891c3d22"


def first_pronunciations(text: str) -> dict[str, str]:
    """Word to phones with single spaces between, in the order of the file."""
    rows = (line.split(" #")[0].split(" ", 1) for line in text.splitlines())
    return {word: re.sub(r"\d", "", phones) for word, phones in rows if not word.endswith(")")}


def main(argv: list[str]) -> int:
    """The command line."""
    if len(argv) != 2:
        print(__doc__)
        return 2
    data = Path(argv[0]).read_bytes()
    if hashlib.sha256(data).hexdigest() != SOURCE_SHA256:
        print(f"{argv[0]}: not the file this was written for (SHA-256 differs)", file=sys.stderr)
        return 2
    known = first_pronunciations(data.decode("utf-8"))
    text = "\n".join(known) + "\n\n" + "\n".join(known.values())
    Path(argv[1]).write_bytes(gzip.compress(text.encode("ascii"), 9, mtime=0))
    print(f"{len(known)} words")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
