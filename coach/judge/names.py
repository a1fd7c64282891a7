"""Names in a sentence: breed, variety and the sex-and-age word, where this bird is presented.

In: a Scene. Out: FactHeard per name. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.judge.lexicon import Meaning
from coach.judge.mentions import Mention
from coach.judge.numbers import numbers
from coach.judge.scene import FactHeard, Scene
from coach.judge.tokens import singular
from coach.judge.values import Match, compare_text
from coach.knowledge.species import bird_words, fits_sex_age

__all__ = ["presented", "read_breed", "read_sex_age", "read_variety", "someone_elses"]


def read_breed(scene: Scene) -> Iterator[FactHeard]:
    """The breed, where this bird is presented."""
    item = scene.item("breed")
    if item is None:
        return
    crossed = {"cross", "crossed", "between", "ancestor", "sister", "like", "mix", "mixed", "developed", "than", "other"}
    for m in scene.here:
        if m.meaning is not Meaning.BREED:
            continue
        before = scene.words[max(0, m.start - 6) : m.start]
        if before[-1:] and before[-1] in ("from", "in"):
            continue
        match = compare_text(m.key, scene.values(item))
        if someone_elses(scene, m.start):
            continue
        shown = "breed" in scene.words or presented(scene, before)
        if match is Match.SAME or (shown and not crossed & set(scene.words)):
            yield scene.heard(item, match, m.start, m.end)


def presented(scene: Scene, before: Sequence[str]) -> bool:
    """Whether these words before a name present this bird ("she is a", "my", "Juniper's")."""
    name = scene.lexicon.bird.name.lower().split()[-1:]
    named = "'s" in before and any([w] == name for w in before)  # "Juniper's a ..."
    return named or bool({singular(w) for w in scene.language.present} & set(before)) or before[-1:] in (("my",), ("this",))


def someone_elses(scene: Scene, start: int) -> bool:
    """Whether what stands here is another bird, or somebody else's."""
    before = [w for n, w in enumerate(scene.words[:start]) if scene.cut[n] == scene.cut[start]]
    people = scene.language.people | scene.language.animals
    return any(w in people for w in before[-5:]) or bool({"other", "another", "her mother", "our"} & set(before[-4:]))


def read_variety(scene: Scene) -> Iterator[FactHeard]:
    """The variety, beside the breed or where this bird is presented."""
    item = scene.item("variety")
    if item is None or not scene.values(item):
        return
    breeds = [m for m in scene.here if m.meaning is Meaning.BREED]
    named = [n for n, w in enumerate(scene.words) if w == "variety"]
    parts = any(m.meaning in (Meaning.PART, Meaning.EGG, Meaning.NAME) and m.key != "opening.sex_age" for m in scene.here)
    for m in scene.here:
        if m.meaning is not Meaning.VARIETY or scene.denied(m.start) or someone_elses(scene, m.start):
            continue
        if any((b.start, b.end) == (m.start, m.end) for b in breeds):  # a Rosecomb, not a rose comb variety
            continue
        touching = any(
            b.start == m.end or (b.end + 1 == m.start and scene.words[b.end] == "in") for b in breeds
        )  # "a Sussex in light"
        by_name = any(abs(m.start - n) <= 6 for n in named)
        before = scene.words[max(0, m.start - 3) : m.start]
        named_here = presented(scene, before) and _ends_a_name(scene, m) and m.key != "colored"
        of_bird = {"she", "he", "it", "this", "my", scene.lexicon.bird.name.lower()} & set(scene.words)
        shown = named_here and of_bird and not parts and not _own_color_talk(scene)
        match = compare_text(m.key, scene.values(item))
        if touching or by_name or shown:
            yield scene.heard(item, match, m.start, m.end)


def _own_color_talk(scene: Scene) -> bool:
    return bool({"color", "should", "standard", "class", "weigh", "weight"} & set(scene.words))


def _ends_a_name(scene: Scene, m: Mention) -> bool:
    after = scene.words[m.end] if m.end < len(scene.words) else ""
    return after in ("", "one", "and", "variety", "so") or after in bird_words()


def read_sex_age(scene: Scene) -> Iterator[FactHeard]:
    """The sex-and-age word, where this bird is presented."""
    item = scene.item("bird.sex_age")
    supposing = "usually" in scene.words or any(
        w == "would" and scene.words[n + 1 : n + 2] not in (("like",), ("be",)) for n, w in enumerate(scene.words)
    )
    if item is None or supposing:
        return
    for m in scene.here:
        clause = {w for n, w in enumerate(scene.words) if scene.cut[n] == scene.cut[m.start]}
        if {"weigh", "weight", "weighing", "pound", "ounce"} & clause or numbers([*clause]):
            continue
        is_name = m.meaning is Meaning.NAME and m.key == item.id
        if m.meaning is not Meaning.SEX_AGE and not is_name:
            continue
        word = scene.text(m.start, m.end)
        if word.endswith("s") or not _shown_bird(scene, m) or someone_elses(scene, m.start) or scene.denied(m.start):
            continue
        if is_name:
            yield FactHeard(item.id, "misnamed", word, m.start, m.end)
        elif (fits := fits_sex_age(scene.lexicon.card.species, m.entry.text, scene.lexicon.bird.sex_age)) is not None:
            yield scene.heard(item, Match.SAME if fits else Match.OTHER, m.start, m.end)


def _shown_bird(scene: Scene, m: Mention) -> bool:
    """Whether the word says what this bird is: "she is a ...", "my ... hen", right after the breed, "sex: hen"."""
    before = [w for n, w in enumerate(scene.words[: m.start]) if scene.cut[n] == scene.cut[m.start]]
    if before[-1:] and before[-1] in ("to", "for", "than", "with", "from", "other", "old", "each", "any", "every", "for a"):
        return False
    if "if" in before:
        return False
    if before[-2:-1] and before[-2] in ("to", "for", "than", "from", "like") and before[-1] in ("a", "the", "an"):
        return False
    if any(x.meaning in (Meaning.BREED, Meaning.VARIETY) and 0 <= m.start - x.end <= 1 for x in scene.here):
        return True
    if before[-1:] and before[-1] in ("my", "this", "young"):
        return True
    name = scene.lexicon.bird.name.lower().split()[-1:]
    if before[:1] == ["a"] and list(scene.words[m.start - len(before) - 1 : m.start - len(before)]) == name:  # "Bramble, a hen"
        return True
    return bool({"is", "am", "showing", "brought", "present", "presenting", "count", "counts", "shown", "sex", "age", "got",
                 "introduce", "have", "called", "be", "as", "meet", "means", "still"} & set(before)) or (
        len(scene.words) <= 4 and "lay" not in scene.words)  # fmt: skip
