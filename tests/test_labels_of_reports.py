"""Every word of the reports about learners can be written in another language: a made-up one proves it.

An invented cohort is drawn from a seed until every sentence that the reports can say about it was said. The curriculum
is the tiny one in other words (`other_words.py`), with skills beside its own whose rules differ. Its language is one
whose months are not written in Latin letters.
"""

from __future__ import annotations

import ast
import random
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from bs4 import BeautifulSoup, NavigableString
from other_words import SILENT, in_cyrillic, in_other_words, latin, printed

from generator.analysis.agreement_of_attempts import peers_beside_instructors
from generator.analysis.readiness import Flagged, Readiness, readiness_of
from generator.cli import main
from generator.model import Curriculum, RungPlan, Skill
from generator.model.attempt import Attempt, KnownRevision, SetAside
from generator.model.skill import PassRule
from generator.reading import read_curriculum
from generator.reading.attempts import AttemptsFile, read_attempts
from generator.rendering.reports import report_html
from generator.rendering.reports.boards import board_data
from generator.rendering.reports.confirm import Asked, AskedSheet, RefusedPage, confirm_html, page_said
from generator.rendering.reports.day import day_data, older_prints
from generator.rendering.reports.labels import report_label_ids
from generator.rendering.reports.letters import letter_data
from generator.rendering.reports.own_words import template_labels
from generator.rendering.reports.report import report_of
from generator.rendering.reports.standard import standard_data
from generator.rendering.said import PACKAGE, said_in_code, texts_by_call

BASE = Path(__file__).parent / "cases" / "base" / "curriculum"
START = date(2026, 3, 2)
DAYS = tuple(START + timedelta(days=days) for days in (30, 150, 360, 700))
"""Days on which the cohort is looked at: few are cleared; more; their clearances end soon; all are over."""
LAB = START + timedelta(days=375)
"""The lab day, shortly before clearances end."""

LEFT_IN_ENGLISH = (
    # Ids that a row of a file holds or may hold, of skills, rungs, trainers, roles and steps.
    r"report (?:abc|mask-breath|mask-breth|press-on-wound|half-torso, whole-body|isolate, perform|lead, helper)",
    r"report (?:seal|gloves(?:, seal, squeeze)?)",
    # Columns of a file, as they are typed.
    r"report (?:date,learner,skill,rung,trainer,evaluator,role,team|role,attempt,revision,missed,unseen,note|date)",
    r"report rung, trainer, evaluator, role, attempt, missed",
    r"standard step, rater, estimate",
    # Commands with their files, as they are typed.
    r"report rungbook ready --aside",
    r"confirm (?:rungbook read )?scan\.pdf",
    r"standard rungbook cut RATINGS\.csv [a-z-]+",
    # Numbers of pages, which the typesetter fills in.
    r"(?:letter|day|board|standard) pages?",
)
"""What is left, and why."""

OURS = (
    "analysis/readiness", "reading/attempts.py", "reading/attempt_lines.py", "reading/attempt_rows.py",
    "rendering/reports",
)  # fmt: skip
"""Where sentences are said that this cohort brings about; those of scans are in `SCANS`."""
SCANS = "reading/scans"

NEVER_SAID = {
    "nothing begun yet": "a learner is known by an attempt",
    "nothing to go by yet": "the share of an attempt has an interval",
    "no learner": "a difference has learners on both sides",
    "It names no team role.": "a row need not name one",
    "Write the id of the team role.": "a row need not name one",
    "It names no step.": "steps are parted by blanks, so none is empty",
    "Write the id of the step.": "steps are parted by blanks, so none is empty",
}
"""Sentences for what the readers of a file cannot bring about, and why not."""


def varied(skill: Skill) -> Iterator[Skill]:
    """Skills whose ladders and clearance rules differ from those of a skill, so that other sentences are needed."""
    first, last = skill.ladder[0], skill.ladder[-1]

    def rung(plan: RungPlan, count: int, by: str) -> RungPlan:
        return plan.model_copy(update={"pass_rule": PassRule(clean_in_a_row=count, scored_by=by)})  # type: ignore[arg-type]

    again = rung(first.model_copy(update={"trainer": last.trainer}), 1, "peer")
    for id, ladder, rules in (
        ("no-window", (rung(first, 1, "instructor"), last), {"within_days": None}),
        ("one-day", (rung(first, 2, "instructor"), last), {"different_days": 1, "clean_in_a_row": 1}),
        ("two-below", (rung(first, 1, "peer"), again, last), {"clean_in_a_row": 12}),
        ("only-check", (last,), {"different_days": 1, "within_days": None, "clean_after_a_fail": 3}),
        ("never-tried", (first, last), {}),
        ("hard", (rung(first, 4, "peer"), last), {"different_days": 3, "clean_in_a_row": 4, "clean_after_a_fail": 2}),
    ):
        changed = {"id": id, "ladder": ladder, "clearance": skill.clearance.model_copy(update=rules)}
        yield skill.model_copy(update=changed)


@pytest.fixture(scope="module")
def made_up() -> Curriculum:
    curriculum, _ = read_curriculum(BASE)
    assert curriculum is not None
    other = in_other_words(curriculum)
    skills = dict(other.skills)
    skills |= {one.id: one for one in varied(next(iter(skills.values())))}
    many = {"later": replace_prerequisites(skills["hard"], "later", (*list(skills)[:2],))}
    program = other.program.model_copy(update={"language": "ru"})
    labs = {id: lab.model_copy(update={"on": LAB}) for id, lab in other.labs.items()}
    return replace(
        other,
        program=program,
        skills=skills | many,
        labs=labs,
        labels=Noted({id: f"⟦{in_cyrillic(id)}⟧" for id in other.labels}),
    )


def replace_prerequisites(skill: Skill, id: str, before: tuple[str, ...]) -> Skill:
    return skill.model_copy(update={"id": id, "prerequisites": before})


class Noted(dict[str, str]):
    """Labels that remember which of them were asked for."""

    def __init__(self, labels: Any) -> None:
        super().__init__(labels)
        self.asked: set[str] = set()

    def get(self, words: str, default: Any = None) -> Any:
        self.asked.add(str(words))
        return super().get(words, default)


def cohort(curriculum: Curriculum, count: int, seed: int) -> tuple[Attempt, ...]:
    """Attempts of learners who differ in skill, scored by peers, instructors or both."""
    chance = random.Random(seed)
    made: list[Attempt] = []
    for number in range(count):
        for skill in curriculum.skills.values():
            if skill.id == "never-tried" or chance.random() < 0.2:
                continue
            able, on = chance.choice((0.5, 0.85, 0.97, 1.0)), START + timedelta(days=chance.randrange(20))
            for turn in range(chance.randrange(1, 16)):
                on += timedelta(days=chance.choice((0, 0, 1, 2, 9)))
                plan = chance.choice((*skill.ladder, skill.ladder[-1]))
                trainer = plan.trainer if chance.random() < 0.95 else chance.choice(list(curriculum.trainers))
                steps = [step.id for step in skill.steps_on(plan)]
                missed = tuple(id for id in steps if chance.random() > able ** (1 / len(steps)))
                unseen = tuple(id for id in steps if id not in missed and chance.random() < 0.01)
                for role in chance.choice((("peer",), ("instructor",), ("peer", "instructor"))):
                    marks = missed if role == "instructor" else tuple(id for id in missed if chance.random() < 0.7)
                    critical = {step.id for step in skill.critical_steps}
                    made.append(
                        Attempt(
                            line=len(made) + 2, on=on, learner=f"L{number}", skill=skill.id, rung=plan.rung,
                            trainer=trainer, evaluator="E1", role=role,  # type: ignore[arg-type]
                            team_role="", attempt=f"a{turn}", revision=chance.choice(("", "0ld1", "0ld2")),
                            missed=marks, unseen=unseen, failing=tuple(id for id in marks if id in critical),
                        )
                    )  # fmt: skip
    return tuple(made)


def met(*, given_first: bool) -> tuple[Attempt, ...]:
    """Two groups who first met a technique where it is given and where it is earned; one of them misses it later."""
    made: list[Attempt] = []
    for number in range(16):
        is_given = number < 8
        misses = (3 + number % 2) if is_given == given_first else number % 2
        for turn in range(6):
            rung, trainer = ("perform", "whole-body") if turn == (0 if is_given else 5) else ("isolate", "half-torso")
            missed = ("press",) if 0 < turn <= misses else ()
            made.append(
                Attempt(
                    line=len(made) + 2, on=START + timedelta(days=turn), learner=f"L{number}", skill="press-on-wound",
                    rung=rung, trainer=trainer, evaluator="E1", role="peer", team_role="", attempt=f"a{turn}",
                    revision="", missed=missed, failing=missed,
                )
            )  # fmt: skip
    return tuple(made)


def at_the_edges(curriculum: Curriculum) -> Iterator[str]:
    """Reports of what hardly ever comes: one of everything, more rows than are shown, groups that differ."""
    attempts = cohort(curriculum, 40, 8)
    readiness = readiness_of(curriculum, attempts, on=DAYS[1])
    peers = peers_beside_instructors(attempts, curriculum.skills)
    step = next(one for one in peers.steps if one.agreement.directions.disagreed)
    agreed = next(one for one in peers.steps if not one.agreement.directions.disagreed)
    missed = next(one for one in readiness.steps if one.missed)
    flagged = (Flagged(line=7, learner="L1", skill="mask-breath", why="Да."),)
    for steps, again in (((step,) * 21 + (agreed,), 21), ((step,) * 25 + (agreed, agreed), 30)):
        odd = replace(peers, unlike=again - 20, pairs=peers.attempts.directions.pairs + again - 20, steps=steps)
        rows = replace(readiness, steps=(missed,) * again, flagged=flagged * (again * 25))
        yield report_of(rows, curriculum, peers=odd, set_aside=set_aside(700))
    harsher = tuple(replace(one, role="peer" if one.role == "instructor" else "instructor") for one in attempts)
    yield report_html(readiness, curriculum, attempts=harsher)
    for is_given_first in (True, False):
        found = readiness_of(curriculum, met(given_first=is_given_first), on=DAYS[0])
        yield report_html(found, curriculum, attempts=())
    unclean = [one for one in attempts if one.skill == "only-check" and one.role == "peer" and not one.is_clean]
    for some in (attempts[:1], unclean[:1]):
        yield report_html(readiness_of(curriculum, some, on=DAYS[1]), curriculum, attempts=())
    bare = replace(curriculum, skills={})
    yield report_html(readiness_of(bare, (), on=DAYS[0]), bare, attempts=())


@dataclass(frozen=True)
class Written:
    """All that was written: texts by the kind of report, and the labels that were asked for."""

    texts: tuple[tuple[str, str], ...]
    asked: frozenset[str]


def of_html(text: str) -> Iterator[str]:
    """Texts that a private page shows or speaks, and those of its script that a reader sees."""
    soup = BeautifulSoup(text, "html.parser")
    for script in soup.find_all("script"):
        yield from re.findall(r"textContent = [`\"](.*?)[`\"]", re.sub(r"\$\{\w+\}", "", script.get_text()))
    # Besides scripts: rows as they were typed, and the names of rules, which are ids.
    for tag in soup.select("script, style, td code, .tally code"):
        tag.decompose()
    for tag in soup.find_all(["em", "strong", "code"]):
        tag.unwrap()
    soup.smooth()
    yield from (text for text in soup.find_all(string=True) if type(text) is NavigableString)
    for tag in soup.find_all(True):
        yield from (str(tag[name]) for name in SPOKEN if name in tag.attrs)


SPOKEN = ("aria-label", "data-label", "alt", "placeholder", "title")


def papers(readiness: Readiness, curriculum: Curriculum, attempts: tuple[Attempt, ...]) -> Iterator[tuple[str, Any]]:
    """Letters, the days' lists and the board."""
    known = {
        "0ld1": KnownRevision(revision="0ld1", skill="mask-breath", steps=(), critical=()),
        "0ld2": KnownRevision(revision="0ld2", skill="mask-breath", steps=("gloves", "seal", "squeeze"), critical=()),
    }
    older = older_prints(curriculum, attempts, known, on=readiness.on)
    for learner in readiness.learners:
        yield "letter", letter_data(readiness, learner, curriculum)
    yield "day", day_data(readiness, curriculum, revisions=dict.fromkeys(curriculum.skills, "1a2b3c4d"))
    for lab in readiness.labs:
        yield "day", day_data(readiness, curriculum, lab=lab.lab, revisions={}, older=older)
    yield "board", board_data(readiness, curriculum)


BAD_ROWS = """\
date,learner,skill,rung,trainer,evaluator,role,team_role,attempt,revision,missed,unseen,note
,L1,mask-breath,isolate,half-torso,E1,peer,,b1,,,,
13/01/2026,L1,mask-breath,isolate,half-torso,E1,peer,,b2,,,,
2026-13-40,L1,mask-breath,isolate,half-torso,E1,peer,,b3,,,,
2028-01-01,L1,mask-breath,isolate,half-torso,E1,peer,,b4,,,,
2026-01-13,"L 1",mask-breath,isolate,half-torso,E1,peer,,b5,,,,
2026-01-13,,mask-breath,isolate,half-torso,E1,peer,,b6,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,,peer,,b7,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,,,,,
2026-01-13,L1,mask-breth,isolate,half-torso,E1,peer,,b8,,,,
2026-01-13,L1,,isolate,half-torso,E1,peer,,b9,,,,
2026-01-13,L1,mask-breath,"?",half-torso,E1,peer,,b10,,,,
2026-01-13,L1,mask-breath,,half-torso,E1,peer,,b11,,,,
2026-01-13,L1,mask-breath,isolate,"?",E1,peer,,b12,,,,
2026-01-13,L1,mask-breath,isolate,,E1,peer,,b13,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,"?",,b14,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,"?",b15,,,,
2026-01-13,L1,press-on-wound,isolate,half-torso,E1,peer,"?",b16,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,b17,,"?",,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,b18,abc,"?",,
2026-01-13,L1,mask-breath,perform,whole-body,E1,peer,,b19,,seal,seal,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,b20,,gloves,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,b21,,,gloves,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,b22,0ld1,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer
2026-01-13
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,b23,,,,,,7
2026-01-13,L1,"mask-breath,isolate,half-torso,E1,peer,,b24,,,,
date,learner,skill,rung,trainer,evaluator,role,team_role,attempt,revision,missed,unseen,note
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,c1,,,,
2026-01-14,L1,mask-breath,isolate,half-torso,E2,peer,,c1,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,c2,,,,
2026-01-13,L2,mask-breath,isolate,half-torso,E2,peer,,c2,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,c3,,,,
2026-01-13,L1,press-on-wound,isolate,half-torso,E2,peer,,c3,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,c4,,,,
2026-01-13,L1,mask-breath,perform,half-torso,E2,peer,,c4,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,c5,,,,
2026-01-13,L1,mask-breath,isolate,whole-body,E2,peer,,c5,,,,
2026-01-13,L1,press-on-wound,isolate,half-torso,E1,peer,lead,c6,,,,
2026-01-13,L1,press-on-wound,isolate,half-torso,E2,peer,helper,c6,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,c7,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,c7,,seal,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,c8,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,c8,,,,
2026-01-13,L1,mask-breath,isolate,half-torso,E1,peer,,c9,,,,\udcff
"""
BAD_HEADS = (
    "2026-01-13,L1\n",
    "date,learner,skill\n1,2,3\n",
    "date,learner,skill,rung,trainer,evaluator,role,attempt,missed,date\n1\n",
)


def bad_rows(curriculum: Curriculum, folder: Path) -> Iterator[AttemptsFile]:
    """Files with a row for each reason why a row is set aside."""
    known = {"0ld1": KnownRevision(revision="0ld1", skill="press-on-wound", steps=(), critical=())}
    for number, text in enumerate((BAD_ROWS, *BAD_HEADS)):
        path = folder / f"{number}.csv"
        path.write_bytes(text.encode("utf-8", "surrogateescape"))
        yield read_attempts(path, curriculum, revisions=known, on=DAYS[-1] - timedelta(days=300))


def set_aside(count: int) -> tuple[SetAside, ...]:
    return tuple(
        SetAside(line=line, text="", rule="date-unreadable", reason="Нет.", remedy="Да.") for line in range(count)
    )


def questions(curriculum: Curriculum) -> tuple[AskedSheet, ...]:
    skill = curriculum.skills["mask-breath"]
    what = f"step:{skill.critical_steps[0].id}:attempt-2"
    choices = ("empty", "marked", "line", "filled")
    asked = [
        Asked(what=what, asks="Да?", choices=choices, guess="line", picture=b"picture"),
        Asked(what="scored-by", asks="Да?", choices=("peer", "instructor"), guess=None, picture=None),
        Asked(what="pages", asks="Да?", choices=("yes",), guess=None, picture=None),
        Asked(what="sheet", asks="Да?", choices=(), guess=None, picture=None),
        Asked(what="date", asks="Да?", choices=(), guess=None, picture=None),
    ]
    where = page_said(curriculum, "scan.pdf", 3)
    return (AskedSheet(id="1", skill=skill.id, where=where, asked=tuple(asked)),)


@pytest.fixture(scope="module")
def written(made_up: Curriculum, tmp_path_factory: pytest.TempPathFactory) -> Written:
    """Every kind of report, of large and small cohorts and of none, on several days."""
    texts: list[tuple[str, str]] = []

    def add(kind: str, made: Any) -> None:
        if isinstance(made, str):
            texts.extend((kind, text) for text in of_html(made))
        else:
            texts.extend((kind, text) for _, text in printed(made, silent=SILENT | {"status", "paper"}))

    for count, seed in ((40, 1), (60, 2), (2, 3), (1, 5), (0, 4)):
        attempts = cohort(made_up, count, seed)
        for on in DAYS:
            readiness = readiness_of(made_up, attempts, on=on)
            add("report", report_html(readiness, made_up, attempts=attempts, set_aside=set_aside(3), file_name="Ы"))
            for kind, made in papers(readiness, made_up, attempts):
                add(kind, made)
    for found in bad_rows(made_up, tmp_path_factory.mktemp("rows")):
        readiness = readiness_of(made_up, found.attempts, on=DAYS[-1])
        add("report", report_html(readiness, made_up, attempts=found.attempts, set_aside=found.set_aside))
    for made in at_the_edges(made_up):
        add("report", made)
    for skill in made_up.skills:
        add("standard", standard_data(made_up, skill))
    asked = questions(made_up)
    refused = [RefusedPage(where="1", reason="Нет", remedy="Да.", picture=b"picture")]
    add("confirm", confirm_html(made_up, asked, refused, command="rungbook read scan.pdf"))
    add("confirm", confirm_html(made_up, asked * 2, refused * 2, command="rungbook read scan.pdf"))
    noted = made_up.labels
    assert isinstance(noted, Noted)
    return Written(tuple(texts), frozenset(noted.asked))


@pytest.fixture(scope="module")
def left(written: Written) -> set[str]:
    return {f"{kind} {words}" for kind, text in written.texts for words in latin(re.sub("[⟦⟧]", "", text))}


def test_no_english_is_left_but_what_is_listed_with_a_reason(left: set[str]) -> None:
    found = sorted(one for one in left if not any(re.fullmatch(known, one) for known in LEFT_IN_ENGLISH))
    assert not found, "\n".join(found)


def test_the_list_of_what_is_left_holds_nothing_that_is_not(left: set[str]) -> None:
    assert [known for known in LEFT_IN_ENGLISH if not any(re.fullmatch(known, one) for one in left)] == []


def test_every_sentence_of_the_reports_was_written(written: Written) -> None:
    """What is not written here is proved by nothing, so nothing may be left out but what the list says."""
    shown = {words for _, text in written.texts for words in re.findall(r"⟦([^⟦⟧]*)⟧", text)}
    ids = {*said_in_code(OURS), *template_labels()}
    missing = sorted(id for id in ids - written.asked - {*NEVER_SAID} if in_cyrillic(id) not in shown)
    assert not missing, "\n".join(missing)


def test_what_is_asked_about_a_scan_is_said_by_the_catalogue() -> None:
    """Pictures of every doubt would be many: here only that each question and each refusal is a fixed text."""
    asked = 0
    for path in sorted((PACKAGE / SCANS).glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for call in (node for node in ast.walk(tree) if isinstance(node, ast.Call)):
            for keyword in call.keywords:
                if keyword.arg in ("asks", "reason", "remedy"):
                    assert not isinstance(keyword.value, (ast.Constant, ast.JoinedStr)), f"{path.name}:{call.lineno}"
                    asked += 1
    assert asked >= 9
    said = said_in_code((SCANS,))
    assert len(said) >= 25
    assert {*said} <= {*report_label_ids()}
    assert not [argument for _, argument, texts in texts_by_call((SCANS,)) if not texts and argument != "picture.words"]


def test_the_labels_of_reports_are_printed_for_translators(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["labels", "--curriculum", str(BASE)]) == 0
    printed_ids = set(re.findall(r'^msgid(?:_plural)? "(.*)"$', capsys.readouterr().out, re.MULTILINE))
    assert {id.replace("\\", "\\\\").replace('"', '\\"') for id in report_label_ids()} <= printed_ids


def test_no_class_address_or_key_is_taken_for_a_label_of_a_report() -> None:
    assert [id for id in template_labels() if re.search(r"rb-|https?:|[<>#]|^[a-z]+-[a-z]+$|^\d", id)] == []
    assert "Cohort board" in template_labels()


def test_a_label_of_a_report_holds_no_markup(made_up: Curriculum) -> None:
    attack = "<script>alert(1)</script>\"' onload=x {{ 7 * 7 }} \u202e"
    spoiled = replace(made_up, labels=dict.fromkeys(template_labels() - {*said_in_code()}, attack))
    attempts = cohort(spoiled, 3, 1)
    page = report_html(readiness_of(spoiled, attempts, on=DAYS[0]), spoiled, attempts=attempts)
    soup = BeautifulSoup(page, "html.parser")
    assert soup.find("script") is None
    assert not [tag for tag in soup.find_all(True) if any(name.startswith("on") for name in tag.attrs)]
    assert "alert(1)" in soup.get_text()
    assert "\u202e" not in page
    assert "49" not in str(soup.find("h2"))


@pytest.mark.parametrize(("language", "direction"), [("he", "rtl"), ("ar-EG", "rtl"), ("ru", None), ("en", None)])
def test_a_report_runs_in_the_direction_of_its_language(
    made_up: Curriculum, language: str, direction: str | None
) -> None:
    other = replace(made_up, program=made_up.program.model_copy(update={"language": language}))
    for page in (
        report_html(readiness_of(other, (), on=DAYS[0]), other, attempts=()),
        confirm_html(other, (), (), command="rungbook read scan.pdf"),
    ):
        root = BeautifulSoup(page, "html.parser").html
        assert root is not None
        assert (root["lang"], root.get("dir")) == (language, direction)
