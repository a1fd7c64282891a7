"""Break each stage from sound to verdict on purpose, and see whether a test of the chain notices.

python -m bench.mutations                all of them: a table of what was broken, killed or survived, and by which test
python -m bench.mutations settle spot    only those whose name holds one of these words

Each mutation replaces one piece of source text in a copy of the package; then the guards, tests/test_chain.py and
tests/test_reader.py, run there. It is killed when the test that guards the stage fails by an assertion, and broken when
anything else fails it (an import, a name). Exit 1 when one survives or is broken. A piece of text that no longer stands in the
source exactly once stops the run: the list has to follow.
About fifteen seconds a mutation.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
GUARDS = ("tests/test_chain.py", "tests/test_reader.py")
LINKED = ("tests", "bench", "breed_cards", "models", "recordings_demo", "pyproject.toml")
WORKERS = 2
RIGHT_REASONS = ("assert ", "AssertionError", "Failed: DID NOT RAISE")


@dataclass(frozen=True, slots=True)
class Mutation:
    """What is broken, where, how, and the test that must notice."""

    name: str
    file: str
    old: str
    new: str
    guard: str


MUTATIONS = (
    Mutation(
        "spot: nothing is asked", "review.py", "return spot(heard, *knowledge, _told(heard, knowledge), asks=asks)", "return ()",
        "test_the_sound_decides",
    ),
    Mutation(
        "spot: SURE at .5", "judge/spot.py", "SURE = 0.95", "SURE = 0.5",
        "test_a_word_the_listener_is_fairly_sure_of_is_still_asked_about",
    ),
    Mutation(
        "spot: SURE_IN_SLOT as SURE", "judge/spot.py", "SURE_IN_SLOT = 0.985", "SURE_IN_SLOT = 0.95",
        "test_where_the_sentence_asks_for_a_part_even_surer_words_are_questioned",
    ),
    Mutation(
        "spot: every word is asked about", "judge/spot.py",
        "return sure < (SURE if not kinds or inside else SURE_IN_SLOT)", "return True",
        "test_a_word_the_listener_is_fairly_sure_of_is_still_asked_about",
    ),
    Mutation(
        "spot: one rival only", "judge/spot.py", "MAX_RIVALS = 3", "MAX_RIVALS = 1", "test_a_wrong_name_wins_on_equal_terms"
    ),
    Mutation(
        "surroundings: neighbour weights off", "judge/surroundings.py",
        "((2, 0.4), (-2, 0.4), (1, 0.7), (-1, 0.7), (0, 1.0))", "((0, 1.0),)",
        "test_the_nearer_its_region_is_spoken_of_the_more_speaks_for_a_rival",
    ),
    Mutation(
        "surroundings: what is missing does not count", "judge/surroundings.py", "missing=_missing(rival, tells, named, wanted)",
        "missing=False", "test_what_is_told_nowhere_else_speaks_for_a_rival",
    ),
    Mutation(
        "doubts: weighed without its breath", "judge/doubts.py", "    window = _window(borders, first, last)\n",
        "    window = first, last + 1\n", "test_a_doubt_is_weighed_within_its_breath",
    ),
    Mutation(
        "own name: not restored", "review.py",
        "heard = restore_name(heard, subject.bird.name, Pronouncer(load_pronunciations()))", "pass",
        "test_the_birds_own_name_is_restored_before_reading",
    ),
    Mutation(
        "weigh: the sound's answers are dropped", "review.py",
        "answers = listener.weigh([d.question for d in doubts], tell) if listener else None", "answers = None",
        "test_the_sound_decides",
    ),
    Mutation(
        "repair: everything is accepted", "judge/repair.py", "if p >= judge.accept:", "if True:", "test_the_sound_decides"
    ),
    Mutation(
        "repair: whisper's accept at .3", "knowledge/data/calibration.yaml",
        "again: 0.218, accept: 0.5", "again: 0.218, accept: 0.3",
        "test_likely_is_said_possible_is_unsure_unlikely_is_blamed",
    ),
    Mutation(
        "repair: whisper's possible at .4", "knowledge/data/calibration.yaml",
        "accept: 0.5, possible: 0.06, faint: 0.2", "accept: 0.5, possible: 0.4, faint: 0.2",
        "test_likely_is_said_possible_is_unsure_unlikely_is_blamed",
    ),
    Mutation(
        "repair: whisper's possible at 0", "knowledge/data/calibration.yaml",
        "accept: 0.5, possible: 0.06, faint: 0.2", "accept: 0.5, possible: 0.0, faint: 0.2",
        "test_likely_is_said_possible_is_unsure_unlikely_is_blamed",
    ),
    Mutation(
        "repair: the unlikeliest first", "judge/repair.py", "sorted(found, key=lambda f: -f[0])",
        "sorted(found, key=lambda f: f[0])", "test_the_likelier_of_two_that_overlap_stands",
    ),
    Mutation(
        "repair: what was written is forgotten", "judge/repair.py", "round(p, 4), doubt.heard)", "round(p, 4))",
        "test_what_was_first_written_is_kept",
    ),
    Mutation(
        "repair: what cannot be weighed is judged as if it were", "judge/repair.py",
        "calibration if by_sound is None or was_weighed(answer, n) else by_sound", "calibration",
        "test_what_cannot_be_weighed_goes_by_likeness_of_sound",
    ),
    Mutation(
        "settle: no generous reading", "review.py", "    if generous != strict:\n", "    if False:\n",
        "test_likely_is_said_possible_is_unsure_unlikely_is_blamed",
    ),
    Mutation(
        "settle: excuses everything", "judge/settle.py",
        "if generous is None or strict.status not in BLAMED or generous.status is not Status.SAID:",
        "if generous is None or strict.status not in BLAMED:", "test_the_generous_reading_excuses_nothing_else",
    ),
    Mutation(
        "settle: what may have been said counts as said", "judge/settle.py", "status=Status.UNSURE", "status=Status.SAID",
        "test_likely_is_said_possible_is_unsure_unlikely_is_blamed",
    ),
    Mutation(
        "settle: the generous reading is the judgement", "review.py",
        "judgement = settle(judgement, _decide(generous, subject))", "judgement = _decide(generous, subject)",
        "test_a_generous_reading_takes_nothing_away",
    ),
    Mutation(
        "settle: unsure without evidence", "judge/settle.py",
        "return unsure(strict, generous.heard, generous.start_s, generous.end_s, generous.confidence, generous.basis)",
        "return replace(strict, status=Status.UNSURE)", "test_unsure_tells_where_to_listen",
    ),
    Mutation(
        "again: no second hearing", "review.py", "        if more:\n", "        if False:\n",
        "test_an_unclear_breath_is_heard_a_second_time",
    ),
    Mutation(
        "again: only what is hardly clear", "judge/again.py", "UNCLEAR = 0.8", "UNCLEAR = 0.5",
        "test_an_unclear_breath_is_heard_a_second_time",
    ),
    Mutation(
        "again: clear breaths as well", "judge/again.py", "UNCLEAR = 0.8", "UNCLEAR = 1.1",
        "test_an_unclear_breath_is_heard_a_second_time",
    ),
    Mutation(
        "again: also where nothing is blamed", "review.py", "any(v.status in BLAMED and v.required for v in judgement.verdicts)",
        "True", "test_where_nothing_is_blamed_nothing_is_heard_again",
    ),
    Mutation(
        "again: believed, not weighed", "review.py", "answers += listener.weigh([d.question for d in more], tell)",
        "answers += [Weighed(d.question, (0.0, *(15.0 for _ in d.rivals))) for d in more]",
        "test_the_second_hearing_is_weighed_not_believed",
    ),
    Mutation(
        "caution: soften dropped", "review.py", "return strict, soften(judgement, care, strict)", "return strict, judgement",
        "test_a_faint_word_near_its_place_leaves_an_item_open",
    ),
    Mutation(
        "caution: whisper's faint words accuse", "knowledge/data/calibration.yaml", "possible: 0.06, faint: 0.2",
        "possible: 0.06, faint: 0.0", "test_a_faint_wrong_value_accuses_nobody",
    ),
    Mutation(
        "caution: one faint word excuses all", "judge/caution.py", "            used.add(softened.start_s)\n",
        "            pass\n", "test_one_faint_word_excuses_one_item",
    ),
    Mutation(
        "caution: bonuses are softened too", "judge/caution.py", "if verdict.required and verdict.status in BLAMED else verdict",
        "if verdict.status in BLAMED else verdict", "test_a_bonus_is_nobodys_blame",
    ),
    Mutation(
        "caution: a poor voice gets no more doubt", "voice/caution.py", "possible_share=factor, sure=max(sure, faint)",
        "possible_share=1.0, sure=faint",
        "test_a_voice_that_is_heard_less_well_gets_more_doubt",
    ),
    Mutation(
        "caution: a lost voice is blamed", "voice/caution.py", "blame=share >= POOR_SHARE", "blame=True",
        "test_a_voice_that_is_hardly_heard_blames_nobody",
    ),
    Mutation(
        "caution: known mishearings are forgotten", "voice/caution.py", "poor_terms=terms", "poor_terms={}",
        "test_a_term_known_to_be_misheard_of_this_voice_is_left_open",
    ),
    Mutation(
        "decide: _late off", "judge/decide.py", "verdicts = tuple(_late(v, case.lexicon, regions) for v in verdicts)", "pass",
        "test_told_in_a_later_region_is_said_and_late",
    ),
    Mutation(
        "decide: what was taken back stands", "judge/decide.py", "if _taken_back(case, told):", "if False:",
        "test_what_is_taken_back_does_not_stand",
    ),
    Mutation(
        "decide: nothing was put right", "judge/decide.py", "mended and right.logit > 0", "False and right.logit > 0",
        "test_a_slip_put_right_is_kept",
    ),
    Mutation(
        "decide: no place for what was left out", "judge/decide.py", "place_s=_place(case, item.region, line)", "place_s=None",
        "test_what_was_left_out_tells_where_it_should_have_come",
    ),
    Mutation(
        "decide: any talk is a rehearsal", "judge/decide.py", "LEAST_TOLD = 3", "LEAST_TOLD = 0",
        "test_talk_that_examines_no_bird_is_no_rehearsal",
    ),
    Mutation(
        "belief: to blame falsely costs little", "judge/belief.py", "FALSE_BLAME = 3.0", "FALSE_BLAME = 0.5",
        "test_what_may_well_have_been_told_is_left_open",
    ),
    Mutation(
        "belief: to leave open costs nothing", "judge/belief.py", "OPEN = 0.6", "OPEN = 0.0",
        "test_what_was_as_good_as_surely_told_is_said",
    ),
    Mutation(
        "belief: to leave open costs as much as blame", "judge/belief.py", "OPEN = 0.6", "OPEN = 4.0",
        "test_what_may_well_have_been_told_is_left_open",
    ),
    Mutation(
        "evidence: wrong values are not looked at", "judge/evidence.py", "_best(told, others), named)", "Find(), named)",
        "test_a_faint_wrong_value_accuses_nobody",
    ),
    Mutation(
        "evidence: wrong names are not looked at", "judge/evidence.py", "_best(slip, names), slipped)", "Find(), Find())",
        "test_a_wrong_name_wins_on_equal_terms",
    ),
    Mutation(
        "reader: windows do not overlap", "reader/model.py", "OVERLAP = 100", "OVERLAP = 0",
        "test_every_word_is_read_with_words_around_it",
    ),
    Mutation(
        "reader: the first window answers", "reader/model.py", "if room > best[owner]:", "if best[owner] < 0:",
        "test_every_word_is_read_with_words_around_it",
    ),
    Mutation(
        "reader: the context is scored", "reader/passage.py", "list(before), [NOBODY] * len(before), 0",
        "list(before), [0] * len(before), 0", "test_the_context_is_read_but_not_scored",
    ),
    Mutation("reader: unchecked", "reader/model.py", "    if wrong:\n", "    if False:\n", "test_a_flipped_bit_is_refused"),
    Mutation(
        "near_miss: no preference for the region", "judge/near_miss.py", "    if here:\n", "    if False:\n",
        "test_a_wrong_color_is_traced_to_the_part_beside_it_before_other_breeds",
    ),
    Mutation(
        "regions: going back is free", "judge/regions.py", "BACK = 0.0, 0.5, 0.1, 1.3", "BACK = 0.0, 0.5, 0.1, 0.0",
        "test_a_stray_word_of_another_region_moves_nobody",
    ),
    Mutation(
        "regions: the shortest run in order is kept", "judge/regions.py", "for size in range(len(known), 0, -1):",
        "for size in range(1, len(known) + 1):", "test_a_region_told_late_is_out_of_order",
    ),
    Mutation(
        "weights: unchecked", "listen/weights.py", "if digest.hexdigest() != right.sha256:", "if False:",
        "test_other_weights_than_the_shipped_ones_are_refused",
    ),
)  # fmt: skip


def fits(mutation: Mutation, package: Path = ROOT / "coach") -> bool:
    """Whether the piece of text stands in the source exactly once."""
    return (package / mutation.file).read_text(encoding="utf-8").count(mutation.old) == 1


def outcome(mutation: Mutation | None) -> tuple[str, str]:
    """killed, survived or broken, and the tests that failed; without a mutation, survived when all pass."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        shutil.copytree(ROOT / "coach", copy / "coach", ignore=shutil.ignore_patterns("__pycache__"))
        for name in LINKED:
            (copy / name).symlink_to(ROOT / name)
        if mutation:
            path = copy / "coach" / mutation.file
            path.write_text(path.read_text(encoding="utf-8").replace(mutation.old, mutation.new), encoding="utf-8")
        quiet = ("-q", "-n0", "-p", "no:cacheprovider", "--tb=no", "-rf")
        command = [sys.executable, "-P", "-m", "pytest", *quiet, f"--rootdir={copy}", "-c", str(copy / "pyproject.toml"), *GUARDS]
        environment = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1", "COLUMNS": "300"}
        done = subprocess.run(command, cwd=copy, env=environment, capture_output=True, text=True, check=False)
    failed = dict(re.findall(r"^FAILED \S+::(\w+)(?:\[.*?\])?(?: - (.*))?$", done.stdout, re.MULTILINE))
    if not failed:
        return ("survived", "") if done.returncode == 0 else ("broken", done.stdout[-300:] + done.stderr[-300:])
    reason = failed.get(mutation.guard, "") if mutation else ""
    if mutation and reason.startswith(RIGHT_REASONS):
        return "killed", mutation.guard + (f" and {len(failed) - 1} more" if len(failed) > 1 else "")
    return "broken", "; ".join(f"{test}: {why}" for test, why in failed.items())


def run(mutations: Sequence[Mutation]) -> Iterator[tuple[Mutation, str, str]]:
    """Each mutation with its outcome."""
    with ThreadPoolExecutor(WORKERS) as pool:
        yield from ((m, *found) for m, found in zip(mutations, pool.map(outcome, mutations), strict=True))


def main() -> None:
    """Run the mutations and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("words", nargs="*", help="only mutations whose name holds one of these")
    args = parser.parse_args()
    if stale := [m.name for m in MUTATIONS if not fits(m)]:
        parser.exit(2, f"mutations: no longer in the source exactly once: {'; '.join(stale)}\n")
    if (clean := outcome(None))[0] != "survived":
        parser.exit(2, f"mutations: the tests fail without any mutation: {clean[1]}\n")
    counts: dict[str, int] = {}
    for mutation, result, tests in run([m for m in MUTATIONS if not args.words or any(w in m.name for w in args.words)]):
        counts[result] = counts.get(result, 0) + 1
        print(f"{result:9} {mutation.name:52} {tests}", flush=True)
    print(", ".join(f"{n} {result}" for result, n in counts.items()))
    sys.exit(0 if set(counts) <= {"killed"} else 1)


if __name__ == "__main__":
    main()
