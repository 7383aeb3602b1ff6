"""Make the invented cohort: 24 learners, their attempts over one term, and the sheets that they were marked on.

Run `python make_cohort.py` in this folder. The same seed gives the same bytes. Nothing here was measured on anybody:
chances of a miss are numbers that we chose so that the reports have something to show.

What is built in, so that a report can be judged by whether it finds it:

- every learner gets better with each attempt at a skill, some sooner than others;
- learners L17 to L24 met airway opening first on the always-open torso, whose chest rises with the head flat, and
  miss tilting and lifting more often afterwards;
- as peers, L03 and L11 mark misses that did not happen, and L08 and L19 overlook half of those that did;
- in about one attempt in eight on the higher rungs, a peer and an instructor mark the same attempt.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import math
import random
from datetime import date
from pathlib import Path

SEED = 20270113

# Skill; steps with * for critical; rungs as `rung trainer count scorer [steps]`; team roles.
TABLE = """
open-airway-by-hand
 protect kneel judge-neck* look-in pad tilt* lift-chin* find-angles steady-head lift-jaw* part-lips check-air* escalate report
 isolate cutaway-head 3 peer tilt lift-chin find-angles steady-head lift-jaw part-lips
 combine lung-head 3 peer
 perform lung-head 3 instructor
suction-upper-airway
 protect test-unit* choose-tip set-child-vacuum turn-head open-mouth mark-depth advance* start-suction sweep* stop-adult* stop-child* breathe* clear-line tube-note
 isolate cutaway-head 3 peer choose-tip open-mouth mark-depth advance
 combine flood-head 3 peer
 disrupt flood-head 2 instructor
oxygen-set-up
 clean-hands read-label* secure blow-out check-seal fit-regulator* open-valve* read-gauge say-minutes* choose-device set-cannula set-mask* set-bag prove-flow* fit-device look-again plan-change
 isolate oxygen-bench 3 peer clean-hands read-label secure blow-out check-seal fit-regulator open-valve read-gauge
 combine oxygen-bench 3 peer
 disrupt oxygen-bench 2 instructor
choking-adult
 ask* coach-cough tell call support blows* stand-behind place-fist* thrust* chest-instead* alternate lower start-compressions* look-each-time* after
 isolate thrust-vest 3 peer support blows stand-behind place-fist thrust
 combine thrust-vest 3 peer
 perform thrust-vest 3 instructor
choking-infant
 listen* call cradle* head-low lean-child blows* sandwich look-in* chest-thrusts* belly-child* alternate lay-down compress-infant* compress-child* breathe after
 isolate infant-torso 3 peer listen cradle head-low blows sandwich look-in chest-thrusts
 combine small-patient-pair 3 peer
 perform small-patient-pair 3 instructor
recovery-position
 check-answer check-normal* empty-pockets near-arm far-hand far-knee turn* prop tilt-back* mouth-down* watch-breath* roll-back
 isolate live-partner 3 peer empty-pockets near-arm far-hand far-knee turn prop
 combine flood-head 2 peer turn tilt-back mouth-down
 perform live-partner 3 instructor
oral-adjunct
 protect suction-near test-response* open* clear-mouth measure* scissor enter turn* seat check-air* change-size watch
 isolate cutaway-head 3 peer open measure scissor enter turn seat change-size
 combine lung-head 3 peer
 perform lung-head 3 instructor
nasal-adjunct
 protect look-for-injury* choose-side choose-width measure* lubricate tip-nose enter* meet-resistance* change-side seat check-air* recheck-throat
 isolate cutaway-head 3 peer choose-width measure lubricate tip-nose enter meet-resistance change-side seat
 combine lung-head 3 peer
 perform lung-head 3 instructor
bag-mask-one-person
 protect call-help* check-pulse connect-oxygen choose-mask open-airway* insert-adjunct grip hook-jaw seal* squeeze* keep-time* watch-fall mend-no-rise* hand-over
 isolate tilt-torso 3 peer protect choose-mask open-airway grip hook-jaw seal squeeze mend-no-rise
 combine gauge-torso 3 peer
 disrupt open-torso 2 instructor
 perform call-simulator 2 instructor
bag-mask-two-person mask bag
 protect connect-oxygen choose-mask position open-airway* insert-adjunct seal* squeeze* keep-time* check-each-breath mend-no-rise* swap
 isolate tilt-torso 3 peer protect choose-mask open-airway seal squeeze mend-no-rise
 combine gauge-torso 3 peer
 perform call-simulator 3 instructor
infant-child-ventilation
 protect name-size choose-bag choose-infant-mask choose-child-mask level-infant* tilt-child* seal* squeeze* keep-time* watch-fall check-color mend-no-rise* feel-pulse join-compressions
 isolate infant-torso 3 peer protect name-size choose-infant-mask level-infant seal squeeze watch-fall mend-no-rise
 combine child-torso 3 peer protect name-size choose-bag choose-child-mask tilt-child seal squeeze keep-time watch-fall check-color mend-no-rise
 perform small-patient-pair 3 instructor
supraglottic-airway placer helper
 protect breathe-first head-up choose-size test-cuff grease-back waveform-on open-mouth slide* fill connect prove* watch-chest* give-up* fix keep-time* reprove
 isolate cutaway-head 3 peer choose-size test-cuff grease-back open-mouth slide fill
 combine lung-head 3 instructor protect breathe-first head-up choose-size test-cuff grease-back waveform-on open-mouth slide fill connect watch-chest fix
 perform call-simulator 3 instructor
"""  # noqa: E501 - one line for a list of steps

LABS = {
    date(2027, 1, 13): [
        ("open-airway-by-hand", 0), ("suction-upper-airway", 0), ("oxygen-set-up", 0), ("choking-adult", 0),
        ("choking-infant", 0), ("recovery-position", 0),
    ],
    date(2027, 2, 3): [
        ("open-airway-by-hand", 1), ("oral-adjunct", 0), ("nasal-adjunct", 0), ("bag-mask-one-person", 0),
        ("bag-mask-two-person", 0), ("infant-child-ventilation", 0),
    ],
    date(2027, 2, 24): [
        ("bag-mask-two-person", 1), ("bag-mask-one-person", 1), ("oral-adjunct", 1), ("suction-upper-airway", 1),
        ("infant-child-ventilation", 1), ("supraglottic-airway", 0),
    ],
    date(2027, 3, 17): [
        ("bag-mask-one-person", 2), ("bag-mask-two-person", 2), ("supraglottic-airway", 1), ("choking-adult", 1),
        ("choking-infant", 1), ("oxygen-set-up", 1),
    ],
}  # fmt: skip
"""Lab days of the shipped program: skill and place on its ladder."""
OPEN_HOUSE = date(2027, 1, 8)
PRACTICE = [
    date(2027, 1, 20), date(2027, 2, 10), date(2027, 2, 17), date(2027, 3, 3), date(2027, 3, 10), date(2027, 3, 24),
]  # fmt: skip
CHECKS = [date(2027, 3, 11), date(2027, 3, 25)]
LEARNERS = [f"L{number:02d}" for number in range(1, 25)]
GIVEN_FIRST = frozenset(LEARNERS[16:])
HARSH, LAX = frozenset({"L03", "L11"}), frozenset({"L08", "L19"})
HABIT = frozenset(
    {
        ("open-airway-by-hand", "tilt"), ("open-airway-by-hand", "lift-chin"), ("open-airway-by-hand", "lift-jaw"),
        ("bag-mask-one-person", "open-airway"), ("bag-mask-two-person", "open-airway"), ("oral-adjunct", "open"),
        ("recovery-position", "tilt-back"), ("infant-child-ventilation", "tilt-child"),
    }
)  # fmt: skip
NOTES = (
    "Eyes on the bag.", "Calm, clear voice.", 'Said "change" late, then well.', "Good start, then hurried.",
    "- tilt first, then seal", "Asked for help in time.", "Count sped up, came back after a cue.",
)  # fmt: skip
COLUMNS = (
    "date", "learner", "skill", "rung", "trainer", "evaluator", "role", "team_role", "attempt", "revision", "missed",
    "unseen", "note",
)  # fmt: skip


class Skill:
    """One skill of the table."""

    def __init__(self, lines: list[str]) -> None:
        self.id, *self.team = lines[0].split()
        words = lines[1].split()
        self.steps = [word.rstrip("*") for word in words]
        self.critical = [word[:-1] for word in words if word.endswith("*")]
        self.ladder = []
        for line in lines[2:]:
            rung, trainer, count, scorer, *steps = line.split()
            self.ladder.append((rung, trainer, int(count), scorer, steps or self.steps))
        self.revision = hashlib.sha256(f"invented {self.id} {lines[1]}".encode()).hexdigest()[:8]


def skills_of(table: str) -> dict[str, Skill]:
    """Skills by id."""
    blocks: list[list[str]] = []
    for line in table.strip("\n").split("\n"):
        if line.startswith(" "):
            blocks[-1].append(line)
        else:
            blocks.append([line])
    return {skill.id: skill for skill in map(Skill, blocks)}


class Term:
    """The term as it is played, attempt by attempt."""

    def __init__(self) -> None:
        self.dice = random.Random(SEED)
        self.skills = skills_of(TABLE)
        self.rows: list[list[str]] = []
        self.talent = {learner: 0.5 + 0.9 * self.dice.random() for learner in LEARNERS}
        self.tries: dict[tuple[str, str], int] = {}
        self.row_of_clean: dict[tuple[str, str, int], int] = {}
        self.passed: set[tuple[str, str, int]] = set()
        self.today: dict[tuple[date, str], int] = {}

    def pick(self, items: list[str]) -> str:
        """One of some, by the one kind of draw whose values no version of Python has changed."""
        return items[int(self.dice.random() * len(items))]

    def chance(self, learner: str, skill: Skill, place: int, step: str) -> float:
        """The true chance that this learner misses this step now."""
        seen = self.tries.get((learner, skill.id), 0)
        hard = 0.11 * (1.0 + 0.35 * place) * (1.35 if step in skill.critical else 1.0)
        miss = hard * math.exp(-0.34 * self.talent[learner] * seen) + 0.004
        if learner in GIVEN_FIRST and (skill.id, step) in HABIT:
            miss += 0.22 * math.exp(-0.06 * seen)
        return miss

    def attempt(self, on: date, learner: str, skill: Skill, place: int, *, trainer: str | None = None) -> None:
        """One attempt, with one row for each who marked it."""
        rung, own, _, scorer, steps = skill.ladder[place]
        lost = [step for step in steps if self.dice.random() < self.chance(learner, skill, place, step)]
        self.tries[learner, skill.id] = self.tries.get((learner, skill.id), 0) + 1
        count = self.today[on, learner] = self.today.get((on, learner), 0) + 1
        roles = [scorer]
        if place > 0 and self.dice.random() < 0.125:
            roles = ["peer", "instructor"]
        team = self.pick(skill.team) if skill.team else ""
        deciding: list[str] = []
        for role in roles:
            evaluator = self.peer_of(learner) if role == "peer" else f"instructor-{self.pick([*'abcdef'])}"
            missed = self.marks(evaluator, steps, lost) if role == "peer" else lost
            unseen = [self.pick(steps)] if self.dice.random() < 0.03 else []
            unseen = [step for step in unseen if step not in missed]
            note = self.pick(list(NOTES)) if self.dice.random() < 0.06 else ""
            deciding = [*missed, *unseen]
            self.rows.append(
                [
                    on.isoformat(), learner, skill.id, rung, trainer or own, evaluator, role, team,
                    f"{on:%m%d}-{learner}-{count}", skill.revision, " ".join(missed), " ".join(unseen), note,
                ]
            )  # fmt: skip
        if trainer is None:
            self.score(learner, skill, place, is_clean=not deciding)

    def peer_of(self, learner: str) -> str:
        """Another learner of the same group of four."""
        start = LEARNERS.index(learner) // 4 * 4
        return self.pick([other for other in LEARNERS[start : start + 4] if other != learner])

    def marks(self, peer: str, steps: list[str], lost: list[str]) -> list[str]:
        """What a peer writes down of what was missed."""
        overlooks = 0.5 if peer in LAX else 0.12
        invents = 0.035 if peer in HARSH else 0.004
        written = []
        for step in steps:
            draw = self.dice.random()
            if draw >= overlooks if step in lost else draw < invents:
                written.append(step)
        return written

    def score(self, learner: str, skill: Skill, place: int, *, is_clean: bool) -> None:
        """Keep the learner's runs, so that practice goes where the ladder sends it."""
        key = (learner, skill.id, place)
        run = self.row_of_clean[key] = self.row_of_clean.get(key, 0) + 1 if is_clean else 0
        if run >= skill.ladder[place][2]:
            self.passed.add(key)

    def is_ready(self, learner: str, skill: Skill) -> bool:
        """Whether every rung below the last is passed."""
        return all((learner, skill.id, place) in self.passed for place in range(len(skill.ladder) - 1))

    def practise(self, on: date, learner: str) -> None:
        """An open afternoon: three attempts at each of four skills, on the lowest rung that is not passed.

        On a day of checks only skills whose lower rungs are passed are chosen.
        """
        begun = [skill for skill in self.skills.values() if (learner, skill.id) in self.tries]
        if on in CHECKS:
            begun = [skill for skill in begun if self.is_ready(learner, skill)]
        chosen: list[Skill] = []
        while begun and len(chosen) < 4:
            chosen.append(begun.pop(int(self.dice.random() * len(begun))))
        for skill in chosen:
            last = len(skill.ladder) - 1
            open_places = [place for place in range(last) if (learner, skill.id, place) not in self.passed]
            place = open_places[0] if open_places else last
            for _ in range(3):
                self.attempt(on, learner, skill, place)

    def play(self) -> None:
        """The whole term."""
        opening = self.skills["open-airway-by-hand"]
        for learner in LEARNERS:
            if learner in GIVEN_FIRST:
                for _ in range(2):
                    self.attempt(OPEN_HOUSE, learner, opening, 0, trainer="open-torso")
        for on in sorted([*LABS, *PRACTICE, *CHECKS]):
            for learner in LEARNERS:
                if learner == "L24" and on > date(2027, 2, 10):
                    continue  # left the course
                if on not in LABS:
                    self.practise(on, learner)
                    continue
                for id, place in LABS[on]:
                    for _ in range(3):
                        self.attempt(on, learner, self.skills[id], place)


def text_of(rows: list[list[str]]) -> str:
    """RFC 4180, with an apostrophe before what a spreadsheet would run."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows([f"'{cell}" if cell[:1] in ("=", "+", "-", "@") else cell for cell in row] for row in rows)
    return out.getvalue()


def files() -> dict[str, bytes]:
    """The two files of this folder, by name."""
    term = Term()
    term.play()
    sheets = {
        skill.revision: {"skill": skill.id, "steps": skill.steps, "critical": skill.critical}
        for skill in term.skills.values()
    }
    return {
        "cohort.csv": text_of(term.rows).encode(),
        "revisions.json": (json.dumps(sheets, indent=1, sort_keys=True) + "\n").encode(),
    }


if __name__ == "__main__":
    for name, content in files().items():
        Path(__file__).with_name(name).write_bytes(content)
        print(f"{name}: {len(content):,} bytes")
