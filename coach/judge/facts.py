"""Facts in a sentence: every value heard, attached to what it is said of and compared with the card.

In: one sentence with its mentions, clauses and the focus carried over. Out: FactHeard per attached value. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from coach.judge.lexicon import SEX_AGES, Lexicon, Meaning
from coach.judge.mentions import Mention
from coach.judge.numbers import Number, numbers
from coach.judge.tokens import Sentence, singular
from coach.judge.values import WEIGHT_TOLERANCE_LB, Match, accepted, compare_color, compare_number, compare_text
from coach.knowledge.language import Language
from coach.knowledge.model import Item

__all__ = ["FactHeard", "read_facts"]

_COPULA = frozenset("is are be was were being should would has have color colored called looks look in with".split())
_DET = frozenset("a an the her his its these this those some has have with nice of lay lays laying having want wants for".split())
_NOT = frozenset("not never instead without nor".split())
_SINKS = frozenset("face skin feather plumage body lacing barring ring pupil nail spot tip wing ground surface fluff".split())
_ONLY_CLASSES = ("Asiatic", "Mediterranean", "Continental", "All Other Standard Breeds")  # words that name a class alone
_NOUNS_COUNTED = frozenset(
    "week month year day point toe finger pound time minute inch egg bird feather chick hour mile foot dollar".split()
)


@dataclass(frozen=True, slots=True)
class FactHeard:
    """A value said of an item: outcome is said, near or wrong."""

    item: str
    outcome: str
    heard: str
    start: int
    end: int
    note: str | None = None


@dataclass(frozen=True, slots=True)
class _Scene:
    """Everything the readers of one sentence need."""

    sentence: Sentence
    words: tuple[str, ...]  # singular
    here: Sequence[Mention]
    cut: Sequence[int]
    focus: tuple[str, ...]
    lexicon: Lexicon
    language: Language

    def items(self, prefix: str) -> list[Item]:
        """The route's facts whose value path starts so."""
        return [i for i in self.lexicon.items.values() if i.value and i.value.startswith(prefix)]

    def item(self, path: str) -> Item | None:
        """The route's fact of that value path."""
        return next(iter(i for i in self.items(path) if i.value == path), None)

    def values(self, item: Item) -> tuple[str | float, ...]:
        """What the card accepts."""
        return accepted(item, self.lexicon.card, self.lexicon.bird)

    def denied(self, at: int) -> bool:
        """Whether the words just before deny what stands here ("not yellow", "does not have a rose comb")."""
        return bool(_NOT & set(self.words[max(0, at - 4) : at]))

    def text(self, start: int, end: int) -> str:
        """Words as heard."""
        return " ".join(t.text for t in self.sentence[start:end])

    def heard(self, item: Item, match: Match, start: int, end: int, text: str | None = None) -> FactHeard:
        """The outcome for a value."""
        outcome = {Match.SAME: "said", Match.NEAR: "near", Match.OTHER: "wrong"}[match]
        return FactHeard(item.id, outcome, text or self.text(start, end), start, end)


def read_facts(
    sentence: Sentence, here: Sequence[Mention], cut: Sequence[int], focus: tuple[str, ...], lexicon: Lexicon,
    language: Language,
) -> Iterator[FactHeard]:  # fmt: skip
    """All facts the sentence tells."""
    scene = _Scene(sentence, tuple(singular(t.text) for t in sentence), here, cut, focus, lexicon, language)
    counted = numbers([t.text for t in sentence])
    yield from _colors(scene)
    yield from _comb_type(scene)
    yield from _points(scene, counted)
    yield from _toes(scene, counted)
    yield from _weights(scene, counted)
    yield from _class(scene)
    yield from _origin(scene)
    yield from _purpose(scene)
    yield from _names(scene)


# --- colors ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Anchor:
    """Something a color can be said of; item is None for what no item asks the color of."""

    start: int
    end: int
    item: Item | None


def _colors(scene: _Scene) -> Iterator[FactHeard]:
    anchors = _anchors(scene)
    taken: dict[int, int] = {}
    for start, end in _color_runs(scene):
        if scene.denied(start):
            continue
        item = _attach(scene, anchors, start, end, taken)
        values = scene.values(item) if item else ()
        if item and values:
            match = compare_color(tuple(t.text for t in scene.sentence[start:end]), values, scene.language)
            yield scene.heard(item, match, start, end)


def _anchors(scene: _Scene) -> list[_Anchor]:
    out = []
    for m in scene.here:
        if m.meaning in (Meaning.PART, Meaning.NAME):
            out.append(_Anchor(m.start, m.end, _color_item(scene, m.key)))
        elif m.meaning is Meaning.EGG:
            out.append(_Anchor(m.start, m.end, scene.item("egg_color")))
        elif m.meaning is Meaning.REGION and m.key in ("tail", "legs"):
            path = {"tail": "colors.tail", "legs": "colors.shank"}[m.key]
            out.append(_Anchor(m.start, m.end, scene.item(path)))
    covered = {n for m in scene.here for n in range(m.start, m.end)}
    out += [_Anchor(n, n + 1, None) for n, w in enumerate(scene.words) if w in _SINKS and n not in covered]
    return sorted(out, key=lambda a: a.start)


def _color_item(scene: _Scene, part: str) -> Item | None:
    return next(
        (i for i in scene.items("colors.") if i.about == part), None
    )


def _color_runs(scene: _Scene) -> Iterator[tuple[int, int]]:
    """Runs of color words with at least one basic color, not inside a longer phrase such as a breed's name."""
    words = [t.text for t in scene.sentence]
    longer = {n for m in scene.here if m.end - m.start > 1 or m.meaning is Meaning.BREED for n in range(m.start, m.end)
              if m.meaning in (Meaning.BREED, Meaning.CUE, Meaning.CUE_OF_PART, Meaning.PLACE, Meaning.COMB_TYPE)}  # fmt: skip
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and end not in longer and (
            words[end] in scene.language.colors or words[end] in scene.language.color_modifiers
        ):
            end += 1
        if end == at:
            at += 1
            continue
        run = words[at:end]
        strong = [w for w in run if w in scene.language.colors] or [w for w in run if w.endswith("ish")]
        if strong:
            yield at, end
        at = end


def _attach(scene: _Scene, anchors: Sequence[_Anchor], start: int, end: int, taken: dict[int, int]) -> Item | None:
    """What the color at start..end is said of, by the likeliest of: a part before with a verb between, a part right
    after, a part the color is "of", the focus of the sentence before."""
    best: tuple[float, _Anchor | None, Item | None] = (0.0, None, None)
    for anchor in anchors:
        score = _score(scene, anchor, anchors, start, end, taken)
        if score > best[0]:
            best = (score, anchor, anchor.item)
    if best[1] is not None:
        taken[best[1].start] = end
        return best[2]
    if not anchors or all(a.start > end + 4 for a in anchors):
        return next((i for part in scene.focus if (i := _color_item(scene, part))), None)
    return None


def _score(scene: _Scene, a: _Anchor, anchors: Sequence[_Anchor], start: int, end: int, taken: dict[int, int]) -> float:
    if a.end <= start:
        between = [t.text for t in scene.sentence[a.end : start]]
        others = sum(1 for o in anchors if a.end <= o.start < start)
        used = 1.0 if a.start in taken and "or" not in between and "and" not in between[-1:] else 0.0
        verb = 2.5 if _COPULA & set(between) or not between else 1.2
        return max(0.0, verb - 0.08 * len(between) - 1.2 * others - used)
    if a.start >= end:
        between = [t.text for t in scene.sentence[end : a.start]]
        before = scene.words[start - 1] if start else ""
        if not between or between == ["colored"] or between == ["color"]:
            return 3.0 if before in _DET or start == 0 else 2.2
        if {"of", "for"} & set(between) and len(between) <= 6:
            return 2.0 - 0.05 * len(between)
        return max(0.0, 0.6 - 0.1 * len(between))
    return 0.0


# --- counts and weights ---------------------------------------------------------------------------------------------


def _comb_type(scene: _Scene) -> Iterator[FactHeard]:
    item = scene.item("comb.type")
    if item is None or not scene.values(item):
        return
    comb = [m for m in scene.here if m.meaning in (Meaning.PART, Meaning.NAME) and m.key == item.about]
    for m in scene.here:
        if m.meaning is not Meaning.COMB_TYPE or scene.denied(m.start):
            continue
        before = scene.words[m.start - 1] if m.start else ""
        after = scene.words[m.end] if m.end < len(scene.words) else ""
        touching = any(c.start == m.end for c in comb)
        named = comb and before in ("is", "a", "the", "be", "of", "called", "an", "type") and after not in _NOUNS_COUNTED
        typed = after in ("type", "one", "kind", "comb") or before in ("is", "a", "be")
        focused = item.about in scene.focus and not comb and typed
        if touching or named or (focused and after not in ("mite", "spot", "feather")):
            match = compare_text(m.key, scene.values(item))
            if match is Match.OTHER:
                match = compare_text(m.entry.text, scene.values(item))
            yield scene.heard(item, match, m.start, m.end)


def _points(scene: _Scene, counted: Sequence[Number]) -> Iterator[FactHeard]:
    item = scene.item("comb.points")
    if item is None or not scene.values(item):
        return
    for n in counted:
        after = scene.words[n.end : n.end + 4]
        before = scene.words[max(0, n.start - 4) : n.start]
        ahead = "point" in after and not set(after[: after.index("point")]) & (_NOUNS_COUNTED - {"point"})
        behind = "point" in before and {"is", "are", "be", "of"} & set(before) and not _counts_other(after)
        alone = item.about in scene.focus and not after and {"has", "are", "is", "count"} & set(before)
        if n.unit is None and (ahead or behind or alone) and _of_comb(scene, item) and not scene.denied(n.start):
            yield scene.heard(item, compare_number(n.value, scene.values(item)), n.start, n.end)


def _of_comb(scene: _Scene, item: Item) -> bool:
    """Points of the comb, not of a game or a test."""
    named = item.about in scene.focus or any(m.key == item.about for m in scene.here)
    return named or not {"my", "i", "got", "scored"} & set(scene.words)


def _counts_other(after: Sequence[str]) -> bool:
    return bool(set(after[:2]) & _NOUNS_COUNTED)


def _toes(scene: _Scene, counted: Sequence[Number]) -> Iterator[FactHeard]:
    item = scene.item("toes")
    if item is None or not scene.values(item):
        return
    plain = [n for n in counted if n.unit is None]
    if {"front", "forward"} & set(scene.words) and {"back", "behind", "rear"} & set(scene.words) and len(plain) == 2:
        first, last = plain
        if "toe" in scene.words or item.about in scene.focus:
            yield scene.heard(item, compare_number(first.value + last.value, scene.values(item)), first.start, last.end)
        return
    has_toes = any(m.meaning is Meaning.PART and m.key == item.about for m in scene.here)
    for n in plain:
        if n.value < 2:  # "one bent toe" counts no toes
            continue
        after = list(scene.words[n.end : n.end + 4])
        before = scene.words[max(0, n.start - 4) : n.start]
        ahead = "toe" in after and not set(after[: after.index("toe")]) & (_NOUNS_COUNTED - {"toe"})
        each = after[:1] in (["on"], ["of"]) and (has_toes or item.about in scene.focus)
        behind = "toe" in before and not _counts_other(after) and n.start - 4 <= scene.words.index("toe")
        alone = item.about in scene.focus and not after and bool({"has", "are", "is", "count"} & set(before))
        if (ahead or each or behind or alone) and not scene.denied(n.start):
            yield scene.heard(item, compare_number(n.value, scene.values(item)), n.start, n.end)


def _weights(scene: _Scene, counted: Sequence[Number]) -> Iterator[FactHeard]:
    items = {i.value.rsplit(".", 1)[1]: i for i in scene.items("weights_") if i.value}
    weighed = any(n.unit for n in counted)
    talk = weighed or {"weigh", "weight", "weighs", "weighing", "pound"} & set(scene.words)
    birds = [(m.start, m.key) for m in scene.here if m.meaning is Meaning.SEX_AGE]
    listed = len(counted) > 1 and len({key for _, key in birds}) > 1  # "hen eight and a half, cock ten"
    if not items or not counted or not (talk or listed or _bare_weight(scene, birds, counted)):
        return
    numbers_here = [n for n in counted if n.unit or not _counts_other(scene.words[n.end : n.end + 2])]
    if not birds:
        own = {"she", "he", "bird", "it", scene.lexicon.bird.name.lower()} & set(scene.words)
        if own and len(numbers_here) == 1 and not {"bag", "feed"} & set(scene.words):
            birds = [(0, scene.lexicon.bird.sex_age)]
    paired = list(_pair(birds, numbers_here, scene.words))
    for which, n in paired:
        item = items.get(which)
        if item and scene.values(item) and not scene.denied(n.start):
            found = scene.heard(item, compare_number(n.value, scene.values(item), WEIGHT_TOLERANCE_LB), n.start, n.end)
            yield _named_swap(scene, items, which, n, found)
    yield from _strays(scene, items, {w for w, _ in paired}, [n for n in numbers_here if all(n is not m for _, m in paired)])


def _strays(scene: _Scene, items: dict[str, Item], told: set[str], strays: Sequence[Number]) -> Iterator[FactHeard]:
    """A weight in a list whose bird was not heard may be that of a bird still missing: unsure, never a mistake."""
    missing = [which for which in SEX_AGES if which in items and which not in told]
    for n in strays if told else ():
        fits = [w for w in missing if compare_number(n.value, scene.values(items[w]), WEIGHT_TOLERANCE_LB) is Match.SAME]
        for which in fits[:1]:
            missing.remove(which)
            yield FactHeard(items[which].id, "near", scene.text(n.start, n.end), n.start, n.end, "I did not hear which bird")


def _bare_weight(scene: _Scene, birds: Sequence[tuple[int, str]], counted: Sequence[Number]) -> bool:
    """ "Cock, nine.": a bird and a number and next to nothing else."""
    return len(birds) == 1 and len(counted) == 1 and len(scene.words) - (counted[0].end - counted[0].start) <= 2


def _pair(
    birds: Sequence[tuple[int, str]], counted: Sequence[Number], words: Sequence[str]
) -> Iterator[tuple[str, Number]]:
    """Each weight with its bird: birds first ("a cock weighs ten, a hen eight") or numbers first ("eight for a hen")."""
    if not birds or not counted:
        return
    number_first = counted[0].start < birds[0][0]
    for at, (place, which) in enumerate(birds):
        if number_first:
            low = birds[at - 1][0] if at else -1
            mine = [n for n in counted if low < n.start < place]
            found = mine[-1:] if mine else []
        else:
            high = birds[at + 1][0] if at + 1 < len(birds) else 10**9
            mine = [n for n in counted if place < n.start < high]
            mended = mine and {"sorry", "mean", "no", "wait", "actually"} & set(words[mine[0].end : mine[-1].start])
            found = mine[-1:] if mended else mine[:1]
        for n in found:
            yield which, n


def _named_swap(scene: _Scene, items: dict[str, Item], which: str, n: Number, found: FactHeard) -> FactHeard:
    if found.outcome == "said":
        return found
    for other in SEX_AGES:
        item = items.get(other)
        if item and other != which and compare_number(n.value, scene.values(item), WEIGHT_TOLERANCE_LB) is Match.SAME:
            return FactHeard(found.item, found.outcome, found.heard, found.start, found.end, f"that is the weight of a {other}")
    return found


# --- names ----------------------------------------------------------------------------------------------------------


def _class(scene: _Scene) -> Iterator[FactHeard]:
    item = scene.item("class")
    if item is None or not scene.values(item):
        return
    at_class = [n for n, w in enumerate(scene.words) if w == "class"]
    for m in scene.here:
        near = any(abs(m.start - n) <= 7 for n in at_class)
        alone = m.key in _ONLY_CLASSES and {"is", "are"} & set(scene.words[max(0, m.start - 3) : m.start])
        if m.meaning is Meaning.SHOW_CLASS and (near or alone) and not scene.denied(m.start):
            yield scene.heard(item, compare_text(m.key, scene.values(item)), m.start, m.end)


def _origin(scene: _Scene) -> Iterator[FactHeard]:
    item = scene.item("origin") or scene.item("origin.country")
    if item is None or not scene.values(item):
        return
    values = [str(v).lower() for v in scene.values(item)]
    for m in scene.here:
        if m.meaning is not Meaning.PLACE or scene.denied(m.start):
            continue
        nearby = set(scene.words[max(0, m.start - 9) : m.start]) | set(scene.words[m.end : m.end + 8])
        if any(b.meaning is Meaning.BREED and b.start == m.start for b in scene.here) and not (
            {"from", "in"} & set(scene.words[max(0, m.start - 2) : m.start])
        ):
            continue
        next_word = scene.words[m.end] if m.end < len(scene.words) else ""
        if next_word in ("class", "standard", "breed") or not nearby & _singular_set(scene.language.origin_cues):
            continue
        same = any(m.key.lower() == v or m.entry.text in v or v.endswith(m.key.lower()) for v in values)
        yield scene.heard(item, Match.SAME if same else Match.OTHER, m.start, m.end)


def _singular_set(words: Iterable[str]) -> set[str]:
    return {singular(w) for w in words}


def _purpose(scene: _Scene) -> Iterator[FactHeard]:
    item = scene.item("purpose")
    found = [m for m in scene.here if m.meaning is Meaning.PURPOSE]
    if item is None or not scene.values(item) or not found:
        return
    cues = {singular(w) for w in scene.language.purpose_cues} & set(scene.words)
    told = {key for m in found for key in m.key.split("+")}
    if not cues or ("color" in scene.words and told == {"eggs"}):
        return
    wanted = {str(v) for v in scene.values(item)}
    if wanted <= told:
        yield scene.heard(item, Match.SAME, found[0].start, found[-1].end)


def _names(scene: _Scene) -> Iterator[FactHeard]:
    """Breed, variety and the sex-and-age word, where the bird is presented."""
    yield from _breed(scene)
    yield from _variety(scene)
    yield from _sex_age(scene)


def _breed(scene: _Scene) -> Iterator[FactHeard]:
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
        if _someone_elses(scene, m):
            continue
        shown = "breed" in scene.words or _presents(scene, before)
        if match is Match.SAME or (shown and not crossed & set(scene.words)):
            yield scene.heard(item, match, m.start, m.end)


def _presents(scene: _Scene, before: Sequence[str]) -> bool:
    return bool({singular(w) for w in scene.language.present} & set(before)) or before[-1:] in (("my",), ("this",))


def _someone_elses(scene: _Scene, m: Mention) -> bool:
    before = [w for n, w in enumerate(scene.words[: m.start]) if scene.cut[n] == scene.cut[m.start]]
    people = scene.language.people | scene.language.animals
    return any(w in people for w in before[-5:]) or bool({"other", "another", "her mother", "our"} & set(before[-4:]))


def _variety(scene: _Scene) -> Iterator[FactHeard]:
    item = scene.item("variety")
    if item is None or not scene.values(item):
        return
    breeds = [m for m in scene.here if m.meaning is Meaning.BREED]
    named = [n for n, w in enumerate(scene.words) if w == "variety"]
    parts = any(m.meaning in (Meaning.PART, Meaning.EGG, Meaning.NAME) and m.key != "opening.sex_age" for m in scene.here)
    for m in scene.here:
        if m.meaning is not Meaning.VARIETY or scene.denied(m.start) or _someone_elses(scene, m):
            continue
        touching = any(b.start == m.end for b in breeds)
        by_name = any(abs(m.start - n) <= 6 for n in named)
        before = scene.words[max(0, m.start - 3) : m.start]
        named_here = _presents(scene, before) and _ends_a_name(scene, m) and m.key != "colored"
        of_bird = {"she", "he", "it", "this", "my", scene.lexicon.bird.name.lower()} & set(scene.words)
        shown = named_here and of_bird and not parts and not _own_color_talk(scene)
        match = compare_text(m.key, scene.values(item))
        if touching or by_name or shown:
            yield scene.heard(item, match, m.start, m.end)


def _own_color_talk(scene: _Scene) -> bool:
    return bool({"color", "should", "standard", "class", "weigh", "weight"} & set(scene.words))


def _ends_a_name(scene: _Scene, m: Mention) -> bool:
    after = scene.words[m.end] if m.end < len(scene.words) else ""
    return after in ("", "one", "and", "variety", "so", "hen", "pullet", "cock", "cockerel", "rooster", "chicken", "bird")


def _sex_age(scene: _Scene) -> Iterator[FactHeard]:
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
        word = scene.sentence[m.start].text
        if word.endswith("s") or not _shown_bird(scene, m) or _someone_elses(scene, m) or scene.denied(m.start):
            continue
        if is_name:
            yield FactHeard(item.id, "misnamed", word, m.start, m.end)
        else:
            yield scene.heard(item, compare_text(m.key, scene.values(item)), m.start, m.end)


def _shown_bird(scene: _Scene, m: Mention) -> bool:
    """Whether the word says what this bird is: "she is a ...", "my ... hen", right after the breed, "sex: hen"."""
    before = [w for n, w in enumerate(scene.words[: m.start]) if scene.cut[n] == scene.cut[m.start]]
    if before[-1:] and before[-1] in ("to", "for", "than", "with", "from", "other", "old", "each", "any", "every", "for a"):
        return False
    if before[-2:-1] and before[-2] in ("to", "for", "than", "from", "if", "like") and before[-1] in ("a", "the", "an"):
        return False
    if any(x.meaning in (Meaning.BREED, Meaning.VARIETY) and 0 <= m.start - x.end <= 1 for x in scene.here):
        return True
    if before[-1:] and before[-1] in ("my", "this", "young"):
        return True
    return bool({"is", "am", "showing", "brought", "present", "presenting", "count", "counts", "shown", "sex", "age", "got",
                 "introduce", "have", "called", "be", "as", "meet", "means", "still"} & set(before)) or (
        len(scene.words) <= 4 and "lay" not in scene.words)  # fmt: skip
