"""Letters and digits that can be read from two metres: five rows of blocks. Pure."""

from __future__ import annotations

__all__ = ["ROWS", "big_text"]

ROWS = 5
_GAP = 1  # columns between letters, before scaling
# One string a letter, its five rows with / between.
_SHAPES = {
    "A": " ## /#  #/####/#  #/#  #", "B": "### /#  #/### /#  #/### ", "C": " ###/#   /#   /#   / ###",
    "D": "### /#  #/#  #/#  #/### ", "E": "####/#   /### /#   /####", "F": "####/#   /### /#   /#   ",
    "G": " ###/#   /# ##/#  #/ ###", "H": "#  #/#  #/####/#  #/#  #", "I": "###/ # / # / # /###",
    "J": "  ##/   #/   #/#  #/ ## ", "K": "#  #/# # /##  /# # /#  #", "L": "#   /#   /#   /#   /####",
    "M": "#   #/## ##/# # #/#   #/#   #", "N": "#  #/## #/# ##/#  #/#  #", "O": " ## /#  #/#  #/#  #/ ## ",
    "P": "### /#  #/### /#   /#   ", "Q": " ## /#  #/#  #/# # / # #", "R": "### /#  #/### /# # /#  #",
    "S": " ###/#   / ## /   #/### ", "T": "#####/  #  /  #  /  #  /  #  ", "U": "#  #/#  #/#  #/#  #/ ## ",
    "V": "#   #/#   #/#   #/ # # /  #  ", "W": "#   #/#   #/# # #/## ##/#   #", "X": "#   #/ # # /  #  / # # /#   #",
    "Y": "#   #/ # # /  #  /  #  /  #  ", "Z": "####/   #/ ## /#   /####",
    "0": " ## /#  #/#  #/#  #/ ## ", "1": " # /## / # / # /###", "2": "### /   #/ ## /#   /####",
    "3": "### /   #/ ## /   #/### ", "4": "#  #/#  #/####/   #/   #", "5": "####/#   /### /   #/### ",
    "6": " ## /#   /### /#  #/ ## ", "7": "####/   #/  # / #  / #  ", "8": " ## /#  #/ ## /#  #/ ## ",
    "9": " ## /#  #/ ###/   #/ ## ", ":": " /#/ /#/ ", "-": "   /   /###/   /   ", " ": "  /  /  /  /  ",
}  # fmt: skip
# The stroke of "5/8".
_SHAPES["/"] = "/".join(("   #", "  ##", " ## ", "##  ", "#   "))


def big_text(text: str, columns: int, block: str = "\u2588") -> tuple[str, ...]:
    """Five rows that show the text, each letter as wide as fits; letters that do not fit are left away.

    Args:
        columns: the room there is.
        block: what the letters are drawn with.
    """
    known = [c for c in text.upper() if c in _SHAPES]
    while known and _width(known) > columns:
        known.pop()
    scale = 2 if known and 2 * _width(known) <= columns else 1
    rows = zip(*(_SHAPES[c].split("/") for c in known), strict=True)
    lines = (" ".join(row) for row in rows) if known else ("" for _ in range(ROWS))
    return tuple("".join(scale * (block if c == "#" else " ") for c in line).rstrip() for line in lines)


def _width(letters: list[str]) -> int:
    return sum(len(_SHAPES[c].split("/")[0]) + _GAP for c in letters) - _GAP
