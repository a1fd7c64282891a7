"""From what was read to verdicts: one per item, the regions' time line, the order, the delivery.

In: timed words and knowledge. Out: a Judgement. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from coach.judge.delivery import counted, judge_delivery, speaking_rate
from coach.judge.lexicon import Lexicon, Meaning, build_lexicon, item_applies, item_required
from coach.judge.near_miss import whose_value
from coach.judge.own_faults import FaultHeard, read_faults
from coach.judge.reading import Claim, Outcome, Read, read
from coach.judge.regions import in_order, time_line
from coach.judge.sounds import Pronouncer, distance
from coach.judge.tokens import Sentence, sentences, singular
from coach.judge.value_kinds import in_line, show
from coach.judge.verdict import Basis, Judgement, RegionTime, Slip, Status, Verdict, Visit
from coach.knowledge.breed_values import shipped_values
from coach.knowledge.language import load_language
from coach.knowledge.model import Bird, Card, Item, Kind, Region, Route
from coach.words import TimedWords

__all__ = ["decide"]

# Weight of a mention as evidence for its region.
_WEIGHT = {Kind.PART: 3.0, Kind.FACT: 1.5, Kind.CONDITION: 1.5}
_MARK = 1.0
# Fewer told items than this: the speech is no rehearsal.
LEAST_TOLD = 3
ALIKE = 0.14


@dataclass(frozen=True, slots=True)
class _Case:
    """One rehearsal being judged."""

    heard: TimedWords
    sentences: Sequence[Sentence]
    lexicon: Lexicon
    found: Read
    faults: Sequence[FaultHeard]

    def span(self, sentence: int, start: int, end: int) -> tuple[float, float]:
        """Times of tokens start to end."""
        tokens = self.sentences[sentence]
        first, last = tokens[start], tokens[max(start, end - 1)]
        return self.heard.words[first.first].start_s, self.heard.words[last.last].end_s

    def basis(self, claim: Claim) -> Basis:
        """How the words were compared: "sounds like" when a listener's spelling was mended first."""
        tokens = self.sentences[claim.sentence][claim.start : claim.end]
        mended = any(w.written for t in tokens for w in self.heard.words[t.first : t.last + 1])
        return Basis.SOUNDS_LIKE if mended else claim.basis

    def written(self, sentence: int, start: int, end: int) -> str | None:
        """What the listener first wrote for the span, where the sound decided for other words; else None."""
        tokens = self.sentences[sentence][start:end]
        words = self.heard.words[tokens[0].first : tokens[-1].last + 1]
        return " ".join(w.written or w.text for w in words).strip(" .,;:!?\"") if any(w.written for w in words) else None

    def quote(self, sentence: int, start: int, end: int) -> str:
        """The words of the span as heard, marks at either end cut."""
        tokens = self.sentences[sentence][start:end]
        words = self.heard.words[tokens[0].first : tokens[-1].last + 1]
        return " ".join(w.text for w in words).strip(" .,;:!?\"")

    def confidence(self, sentence: int, start: int, end: int) -> float | None:
        """The listener's lowest confidence in the words of the span."""
        tokens = self.sentences[sentence][start:end]
        found = [c for t in tokens for w in self.heard.words[t.first : t.last + 1] if (c := w.confidence) is not None]
        return round(min(found), 3) if found else None


def decide(heard: TimedWords, route: Route, card: Card, bird: Bird, breeds: Mapping[str, frozenset[str]]) -> Judgement:
    """Judge a rehearsal from its words.

    Args:
        heard: what was heard, already weighed against the sound where there was sound.
        breeds: breed names with their varieties: what else the bird could be called.
    """
    language = load_language()
    pronouncer = Pronouncer(card.sounds_like)
    lexicon = build_lexicon(route, card, bird, language, breeds)
    split = sentences(heard)
    found = read(split, lexicon, language)

    @cache
    def alike(a: str, b: str) -> bool:
        return len(a) > 3 and len(b) > 2 and distance(pronouncer.phones(a), pronouncer.phones(b)) <= ALIKE

    faults = tuple(read_faults(split, bird, alike, _trade_words(lexicon), _part_words(lexicon)))
    case = _Case(heard, split, lexicon, found, faults)
    line = _time_line(case, route)
    verdicts = _verdicts(case, route, card, bird, line)
    regions, spoken, out_of_order = _regions(case, route, line, verdicts)
    verdicts = tuple(_late(v, case.lexicon, regions) for v in verdicts)
    told = sum(v.status is Status.SAID and v.kind != Kind.FAULT.value for v in verdicts)
    slips = tuple(dict.fromkeys(_slips(case)))  # a wrong name may be listed in singular and plural
    return Judgement(
        verdicts, regions, spoken, out_of_order, judge_delivery(heard, split, language), slips, told >= LEAST_TOLD
    )


# --- verdicts -------------------------------------------------------------------------------------------------------


def _verdicts(case: _Case, route: Route, card: Card, bird: Bird, line: Sequence[str | None]) -> tuple[Verdict, ...]:
    out = [_verdict(case, item, card, bird, line) for item in route.items if item_applies(item, card, bird)]
    return (*out, *_fault_verdicts(case, bird, line))


def _verdict(case: _Case, item: Item, card: Card, bird: Bird, line: Sequence[str | None]) -> Verdict:
    claims = [c for c in case.found.claims if c.item == item.id]
    expected = show(item, card, bird) if item.kind is Kind.FACT else item.title
    skipped = Verdict(
        id=item.id,
        region=item.region,
        kind=item.kind.value,
        title=item.title,
        required=item_required(item, bird),
        status=Status.SKIPPED,
        expected=expected,
        place_s=_place(case, item.region, line),
        line=in_line(item.line, expected),
    )
    chosen = _choose(claims, case.found.corrections)
    if chosen is None:
        return skipped
    if chosen.outcome is Outcome.WRONG and chosen.note is None:
        items, shipped = case.lexicon.route.items, shipped_values(card.species)
        chosen = replace(chosen, note=whose_value(item, chosen.heard, card, bird, items, shipped, load_language()))
    return _heard(skipped, case, chosen)


_STATUS = {
    Outcome.SAID: Status.SAID,
    Outcome.WRONG: Status.WRONG,
    Outcome.NEAR: Status.UNSURE,
    Outcome.MISNAMED: Status.MISNAMED,
}


def _heard(skipped: Verdict, case: _Case, claim: Claim) -> Verdict:
    """The verdict with the claim's words and times in place of the silence."""
    start, end = case.span(claim.sentence, claim.start, claim.end)
    return replace(
        skipped,
        status=_STATUS[claim.outcome],
        heard=case.quote(claim.sentence, claim.start, claim.end),
        start_s=start,
        end_s=end,
        basis=case.basis(claim),
        note=claim.note,
        confidence=case.confidence(claim.sentence, claim.start, claim.end),
        place_s=None,
        written=case.written(claim.sentence, claim.start, claim.end),
    )


def _choose(claims: Sequence[Claim], corrections: Sequence[tuple[int, int]]) -> Claim | None:
    """The claim that stands: the right term or value if it was ever told and not taken back, else the last wrong one."""
    said = [c for c in claims if c.outcome is Outcome.SAID]
    wrong = [c for c in claims if c.outcome is Outcome.WRONG]
    near = [c for c in claims if c.outcome is Outcome.NEAR]
    if said and wrong and _place_of(wrong[-1]) > _place_of(said[-1]):
        taken_back = any(_place_of(said[-1]) < c < _place_of(wrong[-1]) for c in corrections)
        return wrong[-1] if taken_back else replace(wrong[-1], outcome=Outcome.NEAR, note="I heard it both ways")
    for group in (said, wrong, near, [c for c in claims if c.outcome is Outcome.MISNAMED]):
        if group:
            return group[0] if group is said else group[-1]
    return None


def _place_of(claim: Claim) -> tuple[int, int]:
    return claim.sentence, claim.start


def _slips(case: _Case) -> list[Slip]:
    """Wrong claims followed at once by a correction and the right one."""
    out = []
    for wrong in case.found.claims:
        if wrong.outcome not in (Outcome.WRONG, Outcome.MISNAMED):
            continue
        right = [c for c in case.found.claims if c.item == wrong.item and c.outcome is Outcome.SAID]
        for c in right:
            marks = [m for m in case.found.corrections if _place_of(wrong) < m < _place_of(c)]
            if marks and c.sentence - wrong.sentence <= 1:
                out.append(Slip(wrong.item, wrong.heard, case.span(wrong.sentence, wrong.start, wrong.end)[0]))
                break
    return out


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


def _fault_verdicts(case: _Case, bird: Bird, line: Sequence[str | None]) -> list[Verdict]:
    told = {f.item: f for f in case.faults}
    return [_fault_verdict(case, empty, told.get(empty.id)) for empty in _fault_items(case, bird, line)]


def _fault_items(case: _Case, bird: Bird, line: Sequence[str | None]) -> Iterator[Verdict]:
    for fault in bird.faults:
        place_s = _place(case, fault.region, line)
        rows = [(f"faults.{fault.id}", fault.say, fault.say, True, f"One fault I want to point out is the {fault.say}.")]
        if fault.plan:
            item = f"faults.{fault.id}.plan"
            rows.append((item, "plan about the fault", fault.plan, False, f"My plan is to {fault.plan}."))
        for item, title, expected, required, sentence in rows:
            yield Verdict(
                id=item, region=fault.region, kind=Kind.FAULT.value, title=title, required=required,
                status=Status.SKIPPED, expected=expected, place_s=place_s, line=sentence,
            )  # fmt: skip


def _fault_verdict(case: _Case, empty: Verdict, heard: FaultHeard | None) -> Verdict:
    if heard is None:
        return empty
    start, end = case.span(heard.sentence, heard.start, heard.end)
    return replace(
        empty, status=Status.WRONG if heard.wrong else Status.SAID, note=heard.wrong, start_s=start, end_s=end,
        heard=case.quote(heard.sentence, heard.start, heard.end), confidence=round(heard.share, 3), basis=Basis.SYNONYM,
        place_s=None,
    )  # fmt: skip


def _place(case: _Case, region: str, line: Sequence[str | None]) -> float | None:
    """Where a skipped item should have come: the end of its region's last visit, or of the region told before it."""
    order = [r.id for r in case.lexicon.route.regions]
    if region not in order or not case.heard.timed:
        return None
    for candidate in reversed(order[: order.index(region) + 1]):
        last = [n for n, r in enumerate(line) if r == candidate]
        if last:
            return case.span(last[-1], 0, len(case.sentences[last[-1]]))[1]
    return None


# --- regions --------------------------------------------------------------------------------------------------------


def _time_line(case: _Case, route: Route) -> list[str | None]:
    ids = [r.id for r in route.regions]
    fault_at = {f.sentence for f in case.faults}
    evidence: list[dict[str, float]] = []
    for n, here in enumerate(case.found.found):
        marks: dict[str, float] = {}
        for claim in (c for c in case.found.claims if c.sentence == n):
            item = case.lexicon.items[claim.item]
            weight = _WEIGHT[item.kind]
            if item.region not in ids:
                marks[""] = marks.get("", 0.0) + weight
            elif item.also_regions:
                for region in (item.region, *item.also_regions):
                    marks[region] = marks.get(region, 0.0) + 0.3
            else:
                marks[item.region] = marks.get(item.region, 0.0) + weight
        for m in here:
            if m.meaning is Meaning.REGION and m.key in ids:
                marks[m.key] = marks.get(m.key, 0.0) + _MARK
        if n in fault_at:
            marks = {region: 0.4 * w for region, w in marks.items()}
        evidence.append(marks)
    return time_line(evidence, ids)


def _regions(
    case: _Case, route: Route, line: Sequence[str | None], verdicts: Sequence[Verdict]
) -> tuple[tuple[RegionTime, ...], tuple[str, ...], tuple[str, ...]]:
    fault_at = {f.sentence for f in case.faults}
    solid = {r for n, r in enumerate(line) if r and n not in fault_at}
    visits: dict[str, list[Visit]] = {}
    last: str | None = None
    for n, region in enumerate(line):
        if region is None or region not in solid:
            if any(case.found.found[n]):
                last = None
            continue
        start, end = case.span(n, 0, len(case.sentences[n]))
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


def _trade_words(lexicon: Lexicon) -> frozenset[str]:
    """Single words that name parts or values."""
    language = load_language()
    named = {singular(w) for e in lexicon.entries if e.meaning in (Meaning.PART, Meaning.EGG) for w in e.words}
    return frozenset(named | language.colors | language.color_modifiers | {"feather", "wing", "bone", "side"})


def _part_words(lexicon: Lexicon) -> dict[str, str]:
    """Part names of one word, in the singular, with their items."""
    return {singular(e.words[0]): e.key for e in lexicon.entries if e.meaning is Meaning.PART and len(e.words) == 1}
