"""Which kinds of trade words fit a place in a sentence: a color after "the beak should be", a bird before "weighs".

In: the words of a sentence and a span. Out: kinds that the grammar around the span asks for. Pure.
A slot asks for a kind, never for the right one of the kind: every color, count or bird fits alike.
"""

from __future__ import annotations

from collections.abc import Sequence

from coach.judge.lexicon import Meaning

__all__ = ["KIND_OF", "UNITS", "slot_kinds"]

KIND_OF = {
    Meaning.PART: "part", Meaning.NAME: "name", Meaning.COMB_TYPE: "comb", Meaning.SHOW_CLASS: "class",
    Meaning.SEX_AGE: "bird", Meaning.BREED: "breed", Meaning.VARIETY: "breed", Meaning.PLACE: "place",
    Meaning.PURPOSE: "purpose", Meaning.CUE: "cue", Meaning.CUE_OF_PART: "cue", Meaning.OF: "of", Meaning.EGG: "unit",
}  # fmt: skip
UNITS = ("points", "pounds", "class", "weighs", "weigh", "variety", "ounces", "color")

_IS = frozenset("is are be was were been".split())
_HUES = frozenset("reddish pinkish bluish slaty rich light dark pale dusky deep bright yellowish greenish".split())
_DET = frozenset("a an the her his its this these those both my your each left right main no any".split())
_SHOW = frozenset(
    "this these here now next then is are show check look feel at see on of and below under through touch find lift open "
    "spread part hold over along from with down up below like".split()
)
_WEIGH = frozenset("weigh weighs weight way ways weighed weighing wait should".split())
_NUMBERS = frozenset(
    "one two three four five six seven eight nine ten eleven twelve half quarter a pounds pound points point toes fingers".split()
)
_COUNTED = frozenset("pound pounds point points toe toes finger fingers ounces and".split())


def slot_kinds(words: Sequence[str], start: int, end: int, has_color_part: bool, has_comb: bool) -> frozenset[str]:
    """Kinds of trade words that fit words[start:end].

    Args:
        has_color_part: the sentence (or the one before) names a part or the eggs.
        has_comb: it speaks of the comb.
    """
    before = words[start - 1] if start else ""
    earlier = words[max(0, start - 5) : start]
    after = words[end] if end < len(words) else ""
    later = words[end : end + 5]
    out: set[str] = set()
    if has_color_part and (before in _IS | _HUES or {"color", "should", "are", "is"} & set(earlier) or after in ("color", "in")):
        out.add("color")
    if has_color_part and before in ("a", "the", "lay", "lays", "has", "of"):
        out.add("color")
    if (after in _WEIGH or before in ("a", "for", "of", "and", "an", "")) and len(_NUMBERS & set(later)) > 0:
        out.add("bird")
    if {"sex", "age"} & set(earlier):
        out.add("bird")
    if before == "a" and ({"is", "my", "called"} & set(earlier) or "and" in earlier):
        out.add("bird")
    if after in _COUNTED or (has_comb and before in ("has", "have")):
        out.add("number")
    if after == "comb" or (has_comb and before in ("is", "a", "the", "be")):
        out.add("comb")
    if _NUMBERS & set(words[max(0, start - 3) : start]):
        out.add("unit")
    if {"belongs", "shown", "goes", "class", "in", "the"} & set(earlier) and (not after or after in ("and", "class")):
        out |= {"class", "unit"}
    if {"from", "in", "origin", "developed"} & set(words[max(0, start - 3) : start]):
        out.add("place")
    if {"kept", "keep", "raised", "bred", "used", "good", "purpose"} & set(earlier):
        out.add("purpose")
    if {"is", "a", "breed", "variety", "my", "present", "showing", "the"} & set(earlier) and start < 12:
        out.add("breed")
    if before in _DET and (_SHOW & set(earlier) or start <= 2):
        out |= {"part", "name"}
    if before in ("no", "not", "and", "or", "is", "are", "any", "for", "without", "with", "of", "clean", "bright"):
        out.add("cue")
    return frozenset(out)
