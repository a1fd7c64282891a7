"""From what was read to verdicts: one per item, the regions' time line, the order, the delivery.

In: timed words and knowledge. Out: a Judgement. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from coach.judge.belief import verdict_of
from coach.judge.delivery import counted, judge_delivery, speaking_rate
from coach.judge.evidence import NOTHING, Find
from coach.judge.lexicon import Lexicon, Meaning, build_lexicon, item_applies, item_required
from coach.judge.mentions import find_phrases
from coach.judge.near_miss import whose_value
from coach.judge.reading import Read, Reading, read
from coach.judge.regions import in_order, time_line
from coach.judge.tokens import singular, words_of_phrase
from coach.judge.value_kinds import in_line, show
from coach.judge.verdict import Basis, Judgement, RegionTime, Slip, Status, Verdict, Visit
from coach.knowledge.breed_values import shipped_values
from coach.knowledge.language import load_language
from coach.knowledge.model import Bird, Card, Fault, Item, Kind, Region, Route, Sex
from coach.knowledge.species import sex_words
from coach.reader.model import load_reader
from coach.words import TimedWords

__all__ = ["decide"]

# Weight of an item spoken of as evidence for its region.
_WEIGHT = {Kind.PART: 3.5, Kind.FACT: 1.5, Kind.CONDITION: 1.5, Kind.FAULT: 0.0}
_MARK = 1.0
_ANYWHERE = 0.3  # an item that several regions may tell says little of where one is
_FAULT_TALK = 0.4  # a fault may be told anywhere: its parts say less of where one is
# Fewer told items than this: the speech is no rehearsal.
LEAST_TOLD = 3
EVEN = 4.0  # a right and a wrong value so much apart are told about equally
AT_ONCE = 8  # words within which a correction mends what was just said


@dataclass(frozen=True, slots=True)
class _Case:
    """One rehearsal being judged. Places are tokens of the row of all sentences."""

    heard: TimedWords
    lexicon: Lexicon
    reading: Reading
    corrections: tuple[int, ...]  # where "sorry", "I mean" and the like stand

    def sentence(self, at: int) -> int:
        """The sentence of a token."""
        return max(n for n, start in enumerate(self.reading.starts) if start <= at)

    def words(self, start: int, end: int) -> slice:
        """The timed words of tokens start to end."""
        row = [t for s in self.reading.sentences for t in s]
        return slice(row[start].first, row[max(start, end - 1)].last + 1)

    def span(self, start: int, end: int) -> tuple[float, float]:
        """Times of tokens start to end, seconds."""
        words = self.heard.words[self.words(start, end)]
        return words[0].start_s, words[-1].end_s

    def written(self, start: int, end: int) -> str | None:
        """What the listener first wrote for the span, where the sound decided for other words; else None."""
        words = self.heard.words[self.words(start, end)]
        return _bare(" ".join(w.written or w.text for w in words)) if any(w.written for w in words) else None

    def quote(self, start: int, end: int) -> str:
        """The words of the span as heard, marks at either end cut."""
        return _bare(" ".join(w.text for w in self.heard.words[self.words(start, end)]))

    def confidence(self, start: int, end: int) -> float | None:
        """The listener's lowest confidence in the words of the span."""
        found = [w.confidence for w in self.heard.words[self.words(start, end)] if w.confidence is not None]
        return round(min(found), 3) if found else None

    def sentence_span(self, n: int) -> tuple[float, float]:
        """Times of sentence n, seconds."""
        start = self.reading.starts[n]
        return self.span(start, start + len(self.reading.sentences[n]))


def _bare(text: str) -> str:
    return text.strip(" .,;:!?\"")


def decide(heard: TimedWords, route: Route, card: Card, bird: Bird, breeds: Mapping[str, frozenset[str]]) -> Judgement:
    """Judge a rehearsal from its words.

    Args:
        heard: what was heard, already weighed against the sound where there was sound.
        breeds: breed names with their varieties: what else the bird could be called.
    """
    language = load_language()
    lexicon = build_lexicon(route, card, bird, language, breeds)
    reading = read(heard, lexicon, language, load_reader())
    corrections = tuple(
        start + a
        for start, s in zip(reading.starts, reading.sentences, strict=True)
        for a, _ in find_phrases([t.text for t in s], language.corrections)
    )
    case = _Case(heard, lexicon, reading, corrections)
    line = _time_line(case, route)
    verdicts = _verdicts(case, route, card, bird, line)
    regions, spoken, out_of_order = _regions(case, route, line, verdicts)
    verdicts = tuple(_late(v, case.lexicon, regions) for v in verdicts)
    told = sum(v.status is Status.SAID and v.kind != Kind.FAULT.value for v in verdicts)
    return Judgement(
        verdicts, regions, spoken, out_of_order, judge_delivery(heard, reading.sentences, language), tuple(_slips(case)),
        told >= LEAST_TOLD,
    )  # fmt: skip


# --- verdicts -------------------------------------------------------------------------------------------------------


def _verdicts(case: _Case, route: Route, card: Card, bird: Bird, line: Sequence[str | None]) -> tuple[Verdict, ...]:
    items = [_item(case, item, card, bird, line) for item in route.items if item_applies(item, card, bird)]
    empty = [*items, *(v for fault in bird.faults for v in _fault_items(case, fault, line))]
    return tuple(_verdict(case, v, card, bird) for v in empty)


def _item(case: _Case, item: Item, card: Card, bird: Bird, line: Sequence[str | None]) -> Verdict:
    """The verdict of an item before anything was heard."""
    expected = show(item, card, bird) if item.kind is Kind.FACT else item.title
    return Verdict(
        id=item.id, region=item.region, kind=item.kind.value, title=item.title, required=item_required(item, bird),
        status=Status.SKIPPED, expected=expected, place_s=_place(case, item.region, line),
        line=in_line(item.line, expected),
    )  # fmt: skip


def _fault_items(case: _Case, fault: Fault, line: Sequence[str | None]) -> Iterator[Verdict]:
    place_s = _place(case, fault.region, line)
    rows = [(f"faults.{fault.id}", fault.say, fault.say, True, f"One fault I want to point out is the {fault.say}.")]
    if fault.plan:
        rows.append((f"faults.{fault.id}.plan", "plan about the fault", fault.plan, False, f"My plan is to {fault.plan}."))
    for item, title, expected, required, sentence in rows:
        yield Verdict(
            id=item, region=fault.region, kind=Kind.FAULT.value, title=title, required=required, status=Status.SKIPPED,
            expected=expected, place_s=place_s, line=sentence,
        )  # fmt: skip


def _verdict(case: _Case, empty: Verdict, card: Card, bird: Bird) -> Verdict:
    """The verdict with what was heard in place of the silence."""
    told = case.reading.of(empty.id)
    if told is None:
        return empty
    status = verdict_of(told.chances, told.kind)
    if status is Status.WRONG and told.evidence.slip.logit > told.evidence.wrong.logit:
        status = Status.MISNAMED  # "rooster" is no value, it is a name that is not the trade's
    note = None
    if told.kind is Kind.FACT:
        status = _of_fact(case, told, status)
    elif told.kind is Kind.FAULT and status is Status.SAID and _denied(case, told, empty):
        status, note = Status.WRONG, "I heard that it is not there"
    place = _where(told, status)
    if status is Status.SKIPPED or place.logit <= NOTHING:
        return replace(empty, status=status)
    item = case.lexicon.items.get(empty.id)
    if item and status is Status.WRONG and note is None:
        items, shipped = case.lexicon.route.items, shipped_values(card.species)
        heard = case.quote(place.start, place.end).lower()
        note = whose_value(item, heard, card, bird, items, shipped, load_language())
    start_s, end_s = case.span(place.start, place.end)
    written = case.written(place.start, place.end)
    return replace(
        empty, status=status, heard=case.quote(place.start, place.end), start_s=start_s, end_s=end_s, note=note,
        basis=Basis.SOUNDS_LIKE if written else _basis(told, place), confidence=case.confidence(place.start, place.end),
        place_s=None, written=written,
    )  # fmt: skip


def _where(told: Read, status: Status) -> Find:
    """The words that the verdict rests on."""
    e = told.evidence
    if status in (Status.WRONG, Status.MISNAMED):
        best = max(e.wrong, e.slip, key=lambda f: f.logit) if status is Status.MISNAMED else e.wrong
        return best if best.logit > 0 else e.anywhere
    if told.kind is Kind.FAULT:
        return e.anywhere if e.anywhere.logit > 0 or e.exact.logit <= NOTHING else e.exact
    best = max(e.exact, e.near, key=lambda f: f.logit)
    return best if best.logit > 0 else e.anywhere


def _basis(told: Read, place: Find) -> Basis:
    if told.kind is Kind.FACT:
        return Basis.VALUE
    return Basis.EXACT if place == told.evidence.exact else Basis.SYNONYM


def _of_fact(case: _Case, told: Read, status: Status) -> Status:
    """The status of a fact with what its values say: the last word stands, a close value is neither right nor wrong, nothing
    is credited without its value, and a value that may be another bird's accuses nobody."""
    right, near, wrong = told.evidence.exact, told.evidence.near, told.evidence.wrong
    if _taken_back(case, told):
        return Status.WRONG
    if status is Status.SAID and right.logit <= 0:
        return Status.UNSURE
    even = right.start < wrong.start and right.logit < wrong.logit + EVEN
    if status is Status.SAID and even and _named_again(case, told, wrong):
        return Status.UNSURE  # heard both ways, the wrong one last
    if status is Status.SAID and near.logit > right.logit:
        return Status.UNSURE
    weighed = (case.lexicon.items[told.id].value or "").startswith("weights_")  # all four birds' are this bird's facts
    if status is Status.WRONG and wrong.logit > NOTHING and not weighed and _anothers(case, wrong):
        return Status.UNSURE
    return status


def _named_again(case: _Case, told: Read, wrong: Find) -> bool:
    """Whether a wrong value that is told of the fact stands beside the part it is of."""
    about = case.lexicon.items[told.id].about
    here = case.reading.found[case.sentence(wrong.start)] if wrong.logit > 0 else ()
    return any(m.key == about and m.meaning is Meaning.PART for m in here)


def _anothers(case: _Case, wrong: Find) -> bool:
    """Whether a bird of the other sex or another breed is spoken of before the value, and this one not again since."""
    n = case.sentence(wrong.start)
    words = [singular(t.text) for t in case.reading.sentences[n][: wrong.start - case.reading.starts[n]]]
    card, bird = case.lexicon.card, case.lexicon.bird
    others = {w.split()[-1] for w in sex_words(card.species, Sex.MALE if bird.sex is Sex.FEMALE else Sex.FEMALE)}
    others -= {w.split()[-1] for w in sex_words(card.species, bird.sex)}
    breeds = {m.end - 1 for m in case.reading.found[n] if m.meaning is Meaning.BREED and m.key != card.breed.lower()}
    language = load_language()
    at = max((k for k, w in enumerate(words) if w in others or k in breeds or w in language.others), default=-1)
    return at >= 0 and not language.this_bird & set(words[at + 1 :])


def _denied(case: _Case, told: Read, empty: Verdict) -> bool:
    """ "No side sprig" tells the opposite of a side sprig."""
    row, find = [t.text for s in case.reading.sentences for t in s], told.evidence.exact
    denials = load_language().denials
    before = set(row[max(0, find.start - 3) : find.start])
    return find.logit > 0 and bool(denials & before) and not denials & set(words_of_phrase(empty.expected))


def _taken_back(case: _Case, told: Read) -> bool:
    """Whether a right value was put "right" at once to a wrong one: the last word stands."""
    right, wrong = told.evidence.exact, told.evidence.wrong
    at_once = right.start < wrong.start <= right.end + AT_ONCE
    return at_once and min(right.logit, wrong.logit) > 0 and any(right.start < c < wrong.start for c in case.corrections)


def _slips(case: _Case) -> Iterator[Slip]:
    """Wrong names and values followed at once by a correction and the right one."""
    for told in case.reading.reads:
        right, wrong = told.evidence.exact, told.evidence.wrong
        mended = right.start <= wrong.end + AT_ONCE and any(wrong.start < c < right.start for c in case.corrections)
        if mended and right.logit > 0 and wrong.logit > (NOTHING if told.kind is Kind.PART else 0.0):
            yield Slip(told.id, case.quote(wrong.start, wrong.end), case.span(wrong.start, wrong.end)[0])


def _late(verdict: Verdict, lexicon: Lexicon, regions: Sequence[RegionTime]) -> Verdict:
    """The verdict, marked where it was told only after its region had been left: in a region that comes later, or on coming
    back from one. A region that came as a whole out of order is told as such, not item by item."""
    item = lexicon.items.get(verdict.id)
    place = {r.id: r.expected_place for r in regions}
    at_s = verdict.start_s
    if item is None or verdict.status is not Status.SAID or at_s is None or item.region not in place:
        return verdict
    homes = {item.region, *item.also_regions}
    visits = sorted(((v, r) for r in regions for v in r.visits), key=lambda pair: pair[0].start_s)
    here = next(((v, r) for v, r in visits if v.start_s <= at_s <= v.end_s), None)
    if here is None:
        return verdict
    earlier = [r for v, r in visits if v.end_s <= here[0].start_s]
    was_home = any(r.id in homes for r in earlier)
    if here[1].id in homes:
        late = was_home and any(r.expected_place > here[1].expected_place for r in earlier)
    else:
        late = here[1].expected_place > place[item.region] and (was_home or item.kind is Kind.PART)
    return replace(verdict, late=True) if late else verdict


def _place(case: _Case, region: str, line: Sequence[str | None]) -> float | None:
    """Where a skipped item should have come: the end of its region's last visit, or of the region told before it."""
    order = [r.id for r in case.lexicon.route.regions]
    if region not in order or not case.heard.timed:
        return None
    for candidate in reversed(order[: order.index(region) + 1]):
        last = [n for n, r in enumerate(line) if r == candidate]
        if last:
            return case.sentence_span(last[-1])[1]
    return None


# --- regions --------------------------------------------------------------------------------------------------------


def _time_line(case: _Case, route: Route) -> list[str | None]:
    ids = [r.id for r in route.regions]
    faults = _fault_sentences(case)
    evidence: list[dict[str, float]] = []
    for n, (spoken, here) in enumerate(zip(case.reading.spoken, case.reading.found, strict=True)):
        marks: dict[str, float] = {}
        for item_id, chance in spoken.items():
            item = case.lexicon.items[item_id]
            homes, weight = [item.region], _WEIGHT[item.kind]
            if item.region not in ids:
                homes = [""]  # a fact of the breed belongs to no region
            elif item.also_regions:
                homes, weight = [item.region, *item.also_regions], _ANYWHERE
            for home in homes:
                marks[home] = marks.get(home, 0.0) + chance * weight
        for m in here:
            if m.meaning is Meaning.REGION and m.key in ids:
                marks[m.key] = marks.get(m.key, 0.0) + _MARK
        evidence.append({region: _FAULT_TALK * w for region, w in marks.items()} if n in faults else marks)
    return time_line(evidence, ids)


def _fault_sentences(case: _Case) -> set[int]:
    """The sentences that tell a fault of the bird's own, or a plan."""
    told = [r for r in case.reading.reads if r.kind is Kind.FAULT and r.chances.said > 0.5]
    return {case.sentence(r.evidence.anywhere.start) for r in told if r.evidence.anywhere.logit > 0}


def _regions(
    case: _Case, route: Route, line: Sequence[str | None], verdicts: Sequence[Verdict]
) -> tuple[tuple[RegionTime, ...], tuple[str, ...], tuple[str, ...]]:
    fault_at = _fault_sentences(case)
    solid = {r for n, r in enumerate(line) if r and n not in fault_at}
    visits: dict[str, list[Visit]] = {}
    last: str | None = None
    for n, region in enumerate(line):
        if region is None or region not in solid:
            if case.reading.spoken[n]:
                last = None
            continue
        start, end = case.sentence_span(n)
        here = visits.setdefault(region, [])
        if region == last:
            here[-1] = Visit(here[-1].start_s, max(end, here[-1].end_s))
        else:
            here.append(Visit(start, max(start, end)))
        last = region
    spoken = tuple(visits)
    ids = [r.id for r in route.regions]
    weight = {r: sum(v.end_s - v.start_s for v in vs) for r, vs in visits.items()}
    keep = in_order(spoken, ids, weight)
    times = tuple(_region_time(case, r, n, spoken, visits.get(r.id, ()), verdicts) for n, r in enumerate(route.regions))
    return times, spoken, tuple(r for r in spoken if r not in keep)


def _region_time(
    case: _Case, region: Region, n: int, spoken: Sequence[str], visits: Sequence[Visit], verdicts: Sequence[Verdict]
) -> RegionTime:
    n_told, n_required = _counts(region.id, verdicts)
    return RegionTime(
        id=region.id,
        title=region.title,
        status=_coverage(region.id, verdicts),
        visits=tuple(visits),
        expected_place=n + 1,
        spoken_place=spoken.index(region.id) + 1 if region.id in spoken else None,
        n_told=n_told,
        n_required=n_required,
        words_per_minute=_pace(case.heard, visits),
    )


def _pace(heard: TimedWords, visits: Sequence[Visit]) -> float | None:
    """Words a minute within a region, "um" not counted."""
    inside = [w for w in counted(heard.words, load_language()) if any(v.start_s <= w.start_s <= v.end_s for v in visits)]
    return speaking_rate(len(inside), sum(v.end_s - v.start_s for v in visits)) if heard.timed else None


def _counts(region: str, verdicts: Sequence[Verdict]) -> tuple[int, int]:
    mine = [v for v in verdicts if v.region == region and v.required and v.kind != Kind.FAULT.value]
    return sum(v.status is Status.SAID for v in mine), len(mine)


def _coverage(region: str, verdicts: Sequence[Verdict]) -> str:
    mine = [v for v in verdicts if v.region == region and v.kind != Kind.FAULT.value]
    required = [v for v in mine if v.required] or mine
    told = [v for v in required if v.status is not Status.SKIPPED]
    if not told:
        return "skipped"
    return "covered" if all(v.status is Status.SAID for v in required) else "partial"
