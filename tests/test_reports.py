"""The private report, letters, day's list and board: what they hold, what they never hold, and that they do nothing.

The cohort is invented (`invented_standings.py`); the curriculum is the tiny one and the shipped one.
"""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pypdf
import pytest
from bs4 import BeautifulSoup
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_standings import ASIDE, ON, codes, invented_attempts, invented_readiness

from generator.analysis.readiness import Readiness, Status, readiness_of
from generator.model import Curriculum
from generator.model.attempt import SetAside
from generator.reading import read_curriculum
from generator.reading.attempts import read_attempts
from generator.rendering.reports import board, day_list, letter, report_html, standard_sheet
from generator.rendering.reports.boards import board_data
from generator.rendering.reports.day import day_data
from generator.rendering.reports.letters import letter_data
from generator.rendering.reports.marks import MARKS
from generator.rendering.reports.peers import agreement_words
from generator.rendering.reports.plots import Line, curves, difference_bar, interval_bar
from generator.rendering.reports.says import often, percent

BASE = Path(__file__).parent / "cases" / "base" / "curriculum"
SHIPPED = Path(__file__).parents[1] / "curriculum"
HOSTILE = "<script>alert(1)</script>\"'&amp;{{ 7 * 7 }}</style><img src=http://evil.example/x onerror=alert(2)>\u202e"


def curriculum_of(folder: Path) -> Curriculum:
    found, _ = read_curriculum(folder)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def tiny_curriculum() -> Curriculum:
    return curriculum_of(BASE)


@pytest.fixture(scope="module")
def readiness(tiny_curriculum: Curriculum) -> Readiness:
    return invented_readiness(tiny_curriculum, codes(24))


@pytest.fixture(scope="module")
def page(tiny_curriculum: Curriculum, readiness: Readiness) -> BeautifulSoup:
    attempts = invented_attempts(tiny_curriculum, readiness.learners)
    text = report_html(readiness, tiny_curriculum, attempts=attempts, set_aside=ASIDE, file_name="attempts.csv")
    return BeautifulSoup(text, "html.parser")


def assert_needs_nothing(soup: BeautifulSoup) -> None:
    """No script, no handler, no frame, no form; every reference stays inside the page."""
    assert soup.find_all(["script", "link", "img", "iframe", "object", "embed", "form", "base", "audio", "video"]) == []
    for tag in soup.find_all(True):
        for name, value in tag.attrs.items():
            assert not name.lower().startswith("on"), f"{tag.name} has {name}"
            if name.lower() in ("href", "src", "srcset", "xlink:href", "action", "data", "poster", "formaction"):
                assert str(value).startswith("#"), f"{tag.name} {name} points to {value}"
            assert "javascript:" not in str(value).lower()
    for style in (*soup.find_all("style"), *(tag["style"] for tag in soup.find_all(style=True))):
        assert not re.search(r"url\(|@import|https?:|expression\(", str(style))
    policy = soup.find("meta", attrs={"http-equiv": "Content-Security-Policy"})
    assert policy is not None
    assert "default-src 'none'" in str(policy["content"])


def test_the_report_needs_nothing_else(page: BeautifulSoup) -> None:
    assert_needs_nothing(page)
    assert page.html is not None
    assert page.html["lang"] == "en"
    ids = [tag["id"] for tag in page.find_all(id=True)]
    assert len(ids) == len(set(ids))
    for link in page.find_all("a", href=True):
        assert str(link["href"])[1:] in ids
    for use in page.find_all("use"):
        assert str(use["href"])[1:] in ids


def test_the_same_input_gives_the_same_text(tiny_curriculum: Curriculum, readiness: Readiness) -> None:
    attempts = invented_attempts(tiny_curriculum, readiness.learners)
    first = report_html(readiness, tiny_curriculum, attempts=attempts, set_aside=ASIDE)
    again = report_html(readiness, tiny_curriculum, attempts=tuple(reversed(attempts)), set_aside=ASIDE[::-1])
    assert first == again


def test_the_board_has_every_learner_and_skill(
    page: BeautifulSoup, tiny_curriculum: Curriculum, readiness: Readiness
) -> None:
    table = page.select_one("table.board")
    assert table is not None
    titles = [cell.get_text(strip=True) for cell in table.select("thead th.skill")][:-1]
    begun = {one.skill for one in readiness.standings.values() if one.status is not Status.NOT_STARTED}
    assert sorted(titles) == sorted(tiny_curriculum.skills[id].title for id in begun)
    assert len(begun) == len(tiny_curriculum.skills)
    by_title = {skill.title: skill.id for skill in tiny_curriculum.skills.values()}
    rows = table.select("tbody tr")
    assert len(rows) == len(readiness.learners)
    for row in rows:
        learner = row.th.get_text(strip=True) if row.th else ""
        cells = row.find_all("td")[:-1]
        for title, cell in zip(titles, cells, strict=True):
            status = readiness.standing(learner, by_title[title]).status
            word, use = cell.select_one(".aloud"), cell.find("use")
            assert word is not None
            assert use is not None
            assert word.get_text() == MARKS[status].name
            assert use["href"] == f"#m-{MARKS[status].id}"


def test_marks_differ_without_colour() -> None:
    """A word, a letter and a shape of its own for every status (WCAG 2.2, success criterion 1.4.1)."""
    assert set(MARKS) == set(Status)
    for of_mark in (lambda m: m.letter, lambda m: m.name, lambda m: m.id, lambda m: re.sub(r"<text.*", "", m.shape)):
        assert len({of_mark(mark) for mark in MARKS.values()}) == len(MARKS)
    for status, mark in MARKS.items():
        assert mark.name.lower() == status
        assert not re.search(r"#[0-9a-f]{3}|rgb|red|green", mark.shape)


def test_every_part_that_is_asked_for_stands_in_the_report(page: BeautifulSoup, readiness: Readiness) -> None:
    sections = [str(section["id"]) for section in page.select("main > section")]
    assert sections == [
        "calls", "board", "learners", "refresh", "steps", "peers", "rules", "carry", "aside", "reading",
    ]  # fmt: skip
    assert len(page.select("#learners details")) == len(readiness.learners)
    assert len(page.select("#refresh tbody tr")) == len(readiness.refreshes)
    aside = page.select_one("#aside")
    assert aside is not None
    for one in ASIDE:
        assert one.reason in aside.get_text()
        assert str(one.line) in [cell.get_text() for cell in aside.select("tbody th")]
    assert page.select_one(".private") is not None


def test_peers_lead_with_what_hurts(page: BeautifulSoup) -> None:
    section = page.select_one("#peers")
    assert section is not None
    first = section.find("h3")
    assert first is not None
    assert first.get_text() == "The peer passed what the instructor failed"
    text = " ".join(section.get_text(" ").split())
    assert text.index("of the attempts that the instructor failed") < text.index("The other way about")
    assert text.index("Agreement on fails") < text.index("Agreement on passes") < text.index("kappa")
    assert section.select_one(".matrix .hurts") is not None


def test_too_few_pairs_show_the_warning_and_no_coefficient(tiny_curriculum: Curriculum) -> None:
    readiness = invented_readiness(tiny_curriculum, codes(2))
    attempts = invented_attempts(tiny_curriculum, codes(2))
    soup = BeautifulSoup(report_html(readiness, tiny_curriculum, attempts=attempts), "html.parser")
    section = soup.select_one("#peers")
    assert section is not None
    assert "Too few to say anything: 12 pairs" in section.get_text()
    assert section.select_one(".figures") is None
    assert not re.search(r"kappa -?\d", section.get_text())


def test_rules_show_a_plot_beside_the_same_numbers(page: BeautifulSoup, tiny_curriculum: Curriculum) -> None:
    rules = page.select("#rules .rule")
    runs = {skill.clearance.clean_in_a_row for skill in tiny_curriculum.skills.values()}
    assert len(rules) == len(runs)
    for rule in rules:
        lines = rule.select("svg polyline")
        assert len(lines) == 3
        assert len({line["stroke-dasharray"] for line in lines}) == 3
        assert len(rule.select(".chances tbody tr")) == 6


def test_an_empty_cohort_says_so_everywhere(tiny_curriculum: Curriculum) -> None:
    none = invented_readiness(tiny_curriculum, ())
    none = replace(none, steps=(), carry_over=(), labs=(), rules=(), needed=())
    soup = BeautifulSoup(report_html(none, tiny_curriculum, attempts=()), "html.parser")
    assert_needs_nothing(soup)
    text = soup.get_text()
    for says in (
        "Nobody is ready to check, on hold or due for a refresh.",
        "No learner has a row that could be judged.",
        "No clearance yet, so nothing falls due.",
        "No step was missed so far.",
        "No attempt was scored by a peer and by an instructor.",
        "there is nothing to compare",
        "Every row could be judged.",
    ):
        assert says in text
    assert board(none, tiny_curriculum).startswith(b"%PDF")
    assert "Nobody is due for a check." in text_of(day_list(none, tiny_curriculum))


def hostile_curriculum(curriculum: Curriculum) -> Curriculum:
    """The tiny curriculum with hostile text wherever the report shows an author's words."""
    program = curriculum.program.model_copy(
        update={"name": HOSTILE, "medical_direction": HOSTILE, "language": '"><script>'}
    )
    skills = {
        id: skill.model_copy(
            update={
                "title": f"{id} {HOSTILE}",
                "steps": tuple(step.model_copy(update={"do": f"{HOSTILE} {step.id}"}) for step in skill.steps),
            }
        )
        for id, skill in curriculum.skills.items()
    }
    trainers = {id: trainer.model_copy(update={"name": HOSTILE}) for id, trainer in curriculum.trainers.items()}
    techniques = {id: one.model_copy(update={"name": HOSTILE}) for id, one in curriculum.techniques.items()}
    return replace(curriculum, program=program, skills=skills, trainers=trainers, techniques=techniques)


def test_hostile_text_is_shown_and_does_nothing(tiny_curriculum: Curriculum) -> None:
    hostile = hostile_curriculum(tiny_curriculum)
    learners = (HOSTILE, "=cmd|' /C calc'!A0", "L\u0000\u202e3", "../../etc")
    readiness = invented_readiness(hostile, learners)
    aside = (SetAside(line=3, text=HOSTILE, rule=HOSTILE, reason=HOSTILE, remedy=HOSTILE),)
    attempts = invented_attempts(hostile, learners)
    text = report_html(readiness, hostile, attempts=attempts, set_aside=aside, file_name=HOSTILE)
    soup = BeautifulSoup(text, "html.parser")
    assert_needs_nothing(soup)
    assert "\u202e" not in text
    assert "\x00" not in text
    assert "{{ 7 * 7 }}" in soup.get_text()
    for learner in learners:
        for made in (letter(readiness, learner, hostile), board(readiness, hostile), day_list(readiness, hostile)):
            assert made.startswith(b"%PDF")
    assert "alert(1)" in text_of(letter(readiness, HOSTILE, hostile)).replace(" ", "").replace("\n", "")
    assert standard_sheet(hostile, next(iter(hostile.skills))).startswith(b"%PDF")


Codes = st.lists(
    st.text(st.characters(min_codepoint=33, max_codepoint=0x2FF, exclude_categories=("Cc", "Cs", "Cf")), min_size=3),
    min_size=2,
    max_size=6,
    unique=True,
)


@settings(deadline=None, max_examples=40)
@given(learners=Codes, seed=st.integers(0, 1000))
def test_a_letter_is_made_from_its_own_learner_alone(learners: list[str], seed: int) -> None:
    """Whatever others did, the letter is the same: nothing of theirs can be in it."""
    curriculum = curriculum_of(BASE)
    readiness = invented_readiness(curriculum, tuple(learners), seed=seed)
    own = learners[0]
    alone = replace(
        readiness,
        learners=(own,),
        standings={key: one for key, one in readiness.standings.items() if key[0] == own},
        cohort=(), labs=(), refreshes=(), steps=(), carry_over=(), flagged=(), rows=0, attempts=0,
    )  # fmt: skip
    assert letter_data(readiness, own, curriculum) == letter_data(alone, own, curriculum)


def test_no_letter_holds_another_learners_code(readiness: Readiness, tiny_curriculum: Curriculum) -> None:
    for learner in readiness.learners:
        made = letter(readiness, learner, tiny_curriculum)
        found = set(re.findall(r"\bL\d\d\b", text_of(made)))
        assert found == {learner}
        beside = str(pypdf.PdfReader(io.BytesIO(made)).metadata)
        assert set(re.findall(r"\bL\d\d\b", beside)) <= {learner}
        assert set(re.findall(r"L\d\d", str(letter_data(readiness, learner, tiny_curriculum)))) == {learner}


def test_a_skill_that_nobody_has_begun_is_named_but_takes_no_column(
    readiness: Readiness, tiny_curriculum: Curriculum
) -> None:
    first, second = tiny_curriculum.skills.values()
    standings = {
        key: replace(one, status=Status.NOT_STARTED) if key[1] == second.id else one
        for key, one in readiness.standings.items()
    }
    partly = replace(readiness, standings=standings)
    soup = BeautifulSoup(report_html(partly, tiny_curriculum, attempts=()), "html.parser")
    assert [cell.get_text() for cell in soup.select("th.skill")] == [first.title, "Cleared, of 1"]
    assert f"Begun by nobody: {second.title}." in soup.get_text()
    data = board_data(partly, tiny_curriculum)
    assert [part["skills"] for part in data["parts"]] == [[first.title]]
    assert second.title in data["untouched"]


def test_letters_of_the_example_cohort_hold_their_own_learner_alone() -> None:
    """The shipped cohort, read and judged as the command does it."""
    curriculum = curriculum_of(SHIPPED)
    found = read_attempts(SHIPPED / "example-records" / "cohort.csv", curriculum, on=date(2027, 6, 10))
    readiness = readiness_of(curriculum, found.attempts, on=date(2027, 6, 10))
    evaluators = {one.evaluator for one in found.attempts}
    assert len(readiness.learners) == 24
    for learner in readiness.learners:
        words = set(re.findall(r"[\w-]+", str(letter_data(readiness, learner, curriculum))))
        assert words & ({*readiness.learners} | evaluators) == {learner}
    some = readiness.learners[4]
    in_pdf = set(re.findall(r"[\w-]+", text_of(letter(readiness, some, curriculum))))
    assert in_pdf & ({*readiness.learners} | evaluators) == {some}


def test_a_letter_says_what_the_standings_say(readiness: Readiness, tiny_curriculum: Curriculum) -> None:
    for learner in readiness.learners:
        data = letter_data(readiness, learner, tiny_curriculum)
        shown = {item["title"]: item["status"] for part in data["parts"] for item in part["items"]}
        for one in readiness.of(learner):
            title = tiny_curriculum.skills[one.skill].title
            if one.status is Status.NOT_STARTED:
                assert title in " ".join(data["closing"])
            else:
                assert shown[title] == MARKS[one.status].id
    text = " ".join(text_of(letter(readiness, readiness.learners[0], tiny_curriculum)).split())
    assert tiny_curriculum.program.medical_direction.split(".")[0] in text


def test_the_days_list_names_whom_to_check_on_what(readiness: Readiness, tiny_curriculum: Curriculum) -> None:
    revisions = dict.fromkeys(tiny_curriculum.skills, "1a2b3c4d")
    data = day_data(readiness, tiny_curriculum, revisions=revisions)
    listed = {(row["learner"], skill["title"]) for skill in data["skills"] for row in skill["rows"]}
    wanted = {
        (one.learner, tiny_curriculum.skills[one.skill].title)
        for one in readiness.standings.values()
        if one.status in (Status.READY, Status.REFRESH_DUE)
    }
    assert listed == wanted
    assert all("revision 1a2b3c4d" in skill["checklist"] for skill in data["skills"])
    lab = readiness.labs[0].lab
    assert tiny_curriculum.labs[lab].title in day_data(readiness, tiny_curriculum, lab=lab, revisions={})["title"]
    with pytest.raises(KeyError):
        day_list(readiness, tiny_curriculum, lab="no-such-day")


def test_the_board_on_paper_holds_every_standing(readiness: Readiness, tiny_curriculum: Curriculum) -> None:
    many = {f"skill-{n}": next(iter(tiny_curriculum.skills.values())).model_copy(update={"id": f"skill-{n}"})
            for n in range(50)}  # fmt: skip
    wide = replace(tiny_curriculum, skills=many, labs={}, stations={})
    cohort = invented_readiness(wide, codes(30))
    data = board_data(cohort, wide)
    begun = {one.skill for one in cohort.standings.values() if one.status is not Status.NOT_STARTED}
    assert sum(len(part["skills"]) for part in data["parts"]) == len(begun) > 40
    assert all(len(part["rows"]) == 30 for part in data["parts"])
    made = pypdf.PdfReader(io.BytesIO(board(cohort, wide, paper="a4")))
    assert all(page.mediabox.width > page.mediabox.height for page in made.pages)
    text = "".join(page.extract_text() for page in made.pages)
    assert all(code in text for code in codes(30))


def made_pdfs(readiness: Readiness, curriculum: Curriculum) -> dict[str, bytes]:
    return {
        "letter": letter(readiness, readiness.learners[0], curriculum),
        "day": day_list(readiness, curriculum, lab=readiness.labs[0].lab),
        "board": board(readiness, curriculum),
        "standard": standard_sheet(curriculum, next(iter(curriculum.skills))),
    }


@pytest.mark.parametrize("name", ["letter", "day", "board", "standard"])
def test_pdfs_are_tagged_and_whole(name: str, readiness: Readiness, tiny_curriculum: Curriculum) -> None:
    """ISO 14289-1 (PDF/UA-1): marked, with a structure tree, language and title shown, every font embedded."""
    made = made_pdfs(readiness, tiny_curriculum)[name]
    assert made == made_pdfs(readiness, tiny_curriculum)[name]
    reader = pypdf.PdfReader(io.BytesIO(made))
    root: Any = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert str(root["/Lang"]).startswith("en")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title
    fonts = 0
    for page in reader.pages:
        resources: Any = page["/Resources"]
        for font in resources["/Font"].values():
            for part in font.get_object().get("/DescendantFonts", [font]):
                fonts += 1
                descriptor = part.get_object()["/FontDescriptor"].get_object()
                assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor)
    assert fonts
    assert "Private" in text_of(made) or name == "standard"


def test_plots_keep_inside_their_frame() -> None:
    for made in (interval_bar(-3.0, 0.5, 9.0), difference_bar(-2.0, 0.0, 2.0)):
        numbers = [float(n) for n in re.findall(r'd="M([\d.]+)', made)] + [
            float(n) for n in re.findall(r"H([\d.]+)", made)
        ]
        assert all(0 <= number <= 132 for number in numbers)
    hostile = curves([Line(label="<b>", points=((0, 0), (1, 1)))], title='"><script>', across="<x>", up="&")
    soup = BeautifulSoup(hostile, "html.parser")
    assert soup.find(["script", "b", "x"]) is None


@pytest.mark.parametrize(
    ("events", "trials", "words", "number"),
    [
        (0, 9, "never so far", "0%"),
        (9, 9, "every time so far", "100%"),
        (1, 1000, "hardly ever", "under 1%"),
        (999, 1000, "nearly always", "over 99%"),
        (1, 10, "about 1 time in 10", "10%"),
        (25, 153, "about 1 time in 6", "16%"),
        (1, 5, "about 1 time in 5", "20%"),
        (1, 3, "about 1 time in 3", "33%"),
        (1, 2, "about half the time", "50%"),
        (0, 0, "not yet seen", ""),
    ],
)
def test_words_before_numbers(tiny_curriculum: Curriculum, events: int, trials: int, words: str, number: str) -> None:
    assert often(tiny_curriculum, events, trials) == words
    if trials:
        assert percent(tiny_curriculum, events / trials) == number


def test_agreement_is_worded_when_undefined(tiny_curriculum: Curriculum) -> None:
    from generator.analysis.agreement_of_attempts import agreement_of, directions_of

    words = agreement_words(tiny_curriculum, agreement_of(directions_of([(False, False)] * 40)))
    assert words["kappa"] == ""
    assert words["kappa_sure"].startswith("cannot be said: ")
    assert words["fails"]["often"] == "nobody gave a fail"
    assert words["lean"] == "Peers and instructors never disagreed."


def text_of(made: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(made)).pages)


def test_the_day_is_the_one_that_was_asked_for(page: BeautifulSoup) -> None:
    assert page.title is not None
    assert page.title.get_text() == f"Readiness on {ON.day} November {ON.year}"
