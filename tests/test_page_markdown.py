"""Pages as Markdown, before any engine: what stands on them, that author text is inert, that links meet, contrast."""

from __future__ import annotations

import posixpath
import re
from dataclasses import fields, replace
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import markdown
import pytest
from bs4 import BeautifulSoup

from generator.analysis.addresses import addresses
from generator.checks.prose_link_missing import known_pages
from generator.diagnostics import Location, Problem, Severity
from generator.model import Curriculum, Source
from generator.model.base import Record
from generator.model.program import Approval
from generator.reading import read_curriculum
from generator.rendering.pages import assets, pages_of
from generator.rendering.pages.banner import banner_of
from generator.rendering.pages.evidence import links_of
from generator.rendering.pages.inert import inert, quiet, tidy
from generator.rendering.references import formatted
from generator.rendering.tables import tables_of

BASE = Path(__file__).parent / "cases" / "base" / "curriculum"
GOLDEN = Path(__file__).parent / "golden" / "pages"
TODAY = date(2026, 3, 1)
SKILL = "skills/airway/mask-breath.md"
EXTENSIONS = ["attr_list", "tables", "toc"]


def sheets(curriculum: Curriculum) -> list[Any]:
    return [
        *(
            SimpleNamespace(kind=kind, id=id, revision="0123abcd")
            for kind in ("practice", "checklist")
            for id in curriculum.skills
        ),
        *(SimpleNamespace(kind="trainer", id=id, revision="0123abcd") for id in curriculum.trainers),
    ]


def written(curriculum: Curriculum, problems: tuple[Problem, ...] = ()) -> dict[str, str]:
    return pages_of(curriculum, sheets=sheets(curriculum), problems=problems, today=TODAY)


def html_of(page: str) -> BeautifulSoup:
    body = page.split("---\n", 2)[2]
    return BeautifulSoup(markdown.markdown(body, extensions=EXTENSIONS), "html.parser")


@pytest.fixture(scope="module")
def base() -> Curriculum:
    curriculum, problems = read_curriculum(BASE)
    assert curriculum is not None
    assert not problems
    return curriculum


# --- what stands on the pages


@pytest.mark.parametrize(
    "page", [SKILL, "trainers/half-torso.md", "numbers.md", "skills/wounds/press-on-wound.md", "evidence.md"]
)
def test_markdown_is_as_agreed(base: Curriculum, page: str, update: bool) -> None:
    found = written(base)[page]
    golden = GOLDEN / page.replace("/", "-")
    if update:
        golden.parent.mkdir(parents=True, exist_ok=True)
        golden.write_text(found, encoding="utf-8")
    assert found == golden.read_text(encoding="utf-8")


def test_the_pages_are_the_agreed_ones(base: Curriculum) -> None:
    assert list(written(base)) == [
        "index.md",
        "skills/airway/index.md",
        "skills/wounds/index.md",
        "skills/airway/mask-breath.md",
        "skills/wounds/press-on-wound.md",
        "trainers/index.md",
        "trainers/worth.md",
        "trainers/gaps.md",
        "trainers/wear.md",
        "trainers/half-torso.md",
        "trainers/whole-body.md",
        "course.md",
        "labs/index.md",
        "labs/first-day.md",
        "stations/all.md",
        "stations/press-isolate.md",
        "stations/seal-isolate.md",
        "scenarios/index.md",
        "scenarios/first-call.md",
        "scenarios/first-call-run.md",
        "numbers.md",
        "evidence.md",
        "glossary.md",
        "levels.md",
        "health.md",
    ]


def test_cautions_stand_before_steps_and_the_worst_comes_first(base: Curriculum) -> None:
    skill = base.skills["mask-breath"]
    note = skill.cautions[0].model_copy(update={"level": "note", "what": "A small thing."})
    turned = skill.model_copy(update={"cautions": (note, *skill.cautions)})
    soup = html_of(written(replace(base, skills={**base.skills, skill.id: turned}))[SKILL])
    words = [one.get_text() for one in soup.select(".rb-caution-word")]
    assert words == ["warning", "note"]
    assert soup.get_text().index("Do not squeeze hard.") < soup.get_text().index("Put on gloves.")


def test_every_skill_page_defers_and_warns(base: Curriculum) -> None:
    pages = written(base)
    for skill in base.skills.values():
        text = html_of(pages[f"skills/{skill.strand}/{skill.id}.md"]).get_text()
        assert base.program.medical_direction in text
        for line in base.program.usual_cautions:
            assert line in text
        assert "Starter content." in text


def test_the_starter_banner_goes_with_approval(base: Curriculum) -> None:
    approval = Approval(on=date(2026, 1, 1), by="Medical director")
    approved = replace(base, program=base.program.model_copy(update={"approval": approval}))
    assert "rb-starter" in written(base)[SKILL]
    assert all("rb-starter" not in page for page in written(approved).values())


def test_critical_steps_have_a_word_a_shape_and_a_frame(base: Curriculum) -> None:
    soup = html_of(written(base)[SKILL])
    steps = soup.select("ol.rb-steps > li.rb-step")
    assert [("rb-critical" in step["class"]) for step in steps] == [False, True, True]
    for step in steps:
        word = step.select_one(".rb-critical-word")
        assert (word is not None) == ("rb-critical" in step["class"])
        if word is not None:
            assert word.get_text() == "Critical"
            assert word.select_one("svg.rb-shape-critical") is not None
    css = assets()["assets/rungbook/skill.css"].decode()
    frame = re.search(r"\.rb-critical > \.rb-step-body \{\s*border: (\d+)px solid", css)
    assert frame is not None
    assert int(frame[1]) >= 4


def test_numbers_come_from_one_place(base: Curriculum) -> None:
    quantity = base.quantities["breath-interval"]
    changed = quantity.model_copy(update={"value": quantity.value + 3 if quantity.value else 9, "says": None})
    before, after = (
        written(base)[SKILL],
        written(replace(base, quantities={**base.quantities, "breath-interval": changed})),
    )
    assert before != after[SKILL]
    step = html_of(after[SKILL]).select_one("#step-squeeze a.rb-number")
    assert step is not None
    assert step["href"] == "../../numbers.md#breath-interval"


def test_the_scripts_find_what_they_need(base: Curriculum) -> None:
    soup = html_of(written(base)[SKILL])
    form = soup.select_one("form.rb-practice")
    assert form is not None
    assert (form["data-skill"], form["data-revision"]) == ("mask-breath", "0123abcd")
    assert '"rung": "isolate"' in str(form["data-ladder"])
    rows = form.select("label.rb-tick")
    assert [row.select_one("input")["name"] for row in rows] == ["gloves", "seal", "squeeze"]  # type: ignore[index]
    assert [row.has_attr("data-critical") for row in rows] == [False, True, True]
    pacer = soup.select_one("div.rb-pacer")
    assert pacer is not None
    assert pacer["id"] == "pacer-squeeze"
    assert int(str(pacer["data-interval-ms"])) == 1000 * int(base.quantities["breath-interval"].value or 0)
    assert str(pacer["data-words"]).split("|") == list(base.quantities["breath-interval"].count_aloud)
    assert pacer.get_text(strip=True), "readable without a script"


def test_a_learners_page_holds_no_text_for_instructors(base: Curriculum) -> None:
    teaching = base.skills["mask-breath"].teaching
    assert teaching is not None
    page = html_of(written(base)[SKILL]).get_text()
    for text in (teaching.peers, teaching.brief, teaching.debrief, *teaching.say, *teaching.hold_back):
        assert text not in page


def test_a_local_rule_stands_beside_the_step_and_replaces_nothing(base: Curriculum) -> None:
    soup = html_of(written(base)["skills/wounds/press-on-wound.md"])
    heading = soup.select_one("#step-press")
    assert heading is not None
    step = heading.find_parent("li")
    assert step is not None
    rule = step.select_one(".rb-local")
    assert rule is not None
    assert "Local rule" in rule.get_text()
    assert "Call the duty supervisor" in rule.get_text()
    assert "Press the pad down for" in heading.get_text()


def test_the_ladder_reads_in_the_order_of_the_climb(base: Curriculum) -> None:
    soup = html_of(written(base)[SKILL])
    assert [rung.get_text() for rung in soup.select(".rb-rung-name")] == ["Isolate", "Perform"]
    for mark in soup.select(".rb-worths .rb-mark"):
        assert mark.get_text() in {"earned", "measured", "given", "silent"}
        assert mark.select_one("svg") is not None
    assert soup.select(".rb-worths .rb-mark")


def test_also_called_stands_before_the_first_section(base: Curriculum) -> None:
    page = written(base)[SKILL]
    assert page.index("mask ventilation") < page.index("\n## ")


def test_health_names_what_is_overdue_and_found(base: Curriculum) -> None:
    problem = Problem(
        location=Location("curriculum/skills/airway/mask-breath.yaml", 3, 1),
        rule="review-overdue",
        message="The review of <this> skill is overdue.",
        severity=Severity.WARNING,
    )
    on_time = html_of(written(base)["health.md"]).get_text()
    assert "overdue since" not in on_time
    late = pages_of(base, sheets=(), problems=(problem,), today=date(2027, 2, 2))["health.md"]
    text = html_of(late).get_text()
    assert "overdue since" in text
    assert "curriculum/skills/airway/mask-breath.yaml:3:1" in text
    assert "The review of <this> skill is overdue." in text


def test_health_counts_what_each_skill_rests_on(base: Curriculum) -> None:
    """Counted by hand in the tiny curriculum, with one step marked, one number from memory and levels marked."""
    remembered = base.quantities["press-time"].model_copy(update={"checked": "memory"})
    skill = base.skills["press-on-wound"]
    marked = skill.steps[0].model_copy(update={"provisional": "From memory."})
    doubted = skill.model_copy(update={"steps": (marked, *skill.steps[1:]), "levels_provisional": "From memory."})
    changed = replace(
        base,
        quantities={**base.quantities, "press-time": remembered},
        skills={**base.skills, "press-on-wound": doubted},
    )
    table = html_of(written(changed)["health.md"]).select_one("table.rb-figures")
    assert table is not None
    rows = {
        row.th.get_text(): [cell.get_text() for cell in row.select("td")] for row in table.select("tbody tr") if row.th
    }
    assert list(rows) == ["Give breaths by mask", "Press on a wound", "All 2 skills"]
    assert rows["Give breaths by mask"][:4] == ["3", "2", "2", "0"]
    assert rows["Press on a wound"][:4] == ["2", "1", "1", "3"]
    assert rows["All 2 skills"] == ["5", "3", "2", "3", "none"]
    assert all(float(rows[title][4]) < 6 for title in list(rows)[:2])


@pytest.mark.parametrize("folder", [BASE, Path(__file__).parents[1] / "curriculum"], ids=["tiny", "shipped"])
def test_the_check_of_links_knows_every_page(folder: Path) -> None:
    curriculum, _ = read_curriculum(folder)
    assert curriculum is not None
    made = set(pages_of(curriculum, sheets=(), problems=(), today=TODAY))
    assert len(made) > 15
    assert sorted(page.path for page in addresses(curriculum)) == sorted(made)
    assert known_pages(curriculum) == made | set(curriculum.prose)


# --- author text is inert

ATTACKS = (
    '<script>alert("x")</script>',
    "</h3></div><img src=x onerror=alert(1)>",
    "[press](javascript:alert(1)) ![x](https://example.net/x.png) <https://example.net>",
    "**bold** _em_ `code` ~~gone~~ ^up^ $x$",
    "{{ config.site_name }} {% raw %} {: .cls #id onclick=alert(1) }",
    "line one\n\n## Heading\n\n    code\n\n- item\n\n---\n\n<div markdown=1>",
    '" onmouseover="alert(1)" x="',
    "&lt;b&gt; &#60;i&#62; &amp;",
    "\x1e## broken heading\x1e \u202ebackwards\u202c",
    '--8<-- "secrets" ::: module :smile: [^1] [[wiki]] [TOC] *[HTML]: x',
)


def _attacked(value: Any, attack: str, key: str = "") -> Any:
    """A copy of a record with every free text replaced; ids, enumerations and texts that must parse stay."""
    if isinstance(value, Record):
        return value.model_copy(
            update={name: _attacked(getattr(value, name), attack, name) for name in type(value).model_fields}
        )
    if isinstance(value, tuple):
        return tuple(_attacked(one, attack, key) for one in value)
    if isinstance(value, dict):
        return {name: _attacked(one, attack, key) for name, one in value.items()}
    if type(value) is str and key in FREE:
        return attack
    return value


FREE = {
    "title", "name", "short", "about", "summary", "also_called", "what", "why", "do", "see",
    "critical_because", "error", "cue", "provisional", "aim", "because", "after_a_fail", "levels_provisional",
    "disagreements", "rule", "authority", "shows", "limits", "setup", "cleaning", "right", "wrong", "says",
    "unit", "count_aloud", "body", "term", "meaning", "also", "avoid", "medical_direction", "usual_cautions",
    "publisher", "container_title", "DOI", "URL", "family", "given", "literal", "kept_because", "currency",
}  # fmt: skip


def _all_attacked(base: Curriculum, attack: str) -> Curriculum:
    changed = {}
    for one in fields(base):
        value = getattr(base, one.name)
        if one.name in ("places", "prose", "unread", "plurals"):
            continue
        changed[one.name] = (
            {id: _attacked(record, attack) for id, record in value.items()}
            if hasattr(value, "items")
            else _attacked(value, attack)
        )
    return replace(base, **changed)


@pytest.mark.parametrize("attack", ATTACKS)
def test_author_text_does_nothing(base: Curriculum, attack: str) -> None:
    clean, dirty = written(base), written(_all_attacked(base, attack))
    assert clean.keys() == dirty.keys()
    for name, page in dirty.items():
        soup = html_of(page)
        plain = html_of(clean[name])
        for tag in ("script", "img", "em", "code", "iframe", "h4", "hr", "pre", "del", "sub", "sup", "b", "i"):
            assert len(soup.select(tag)) == len(plain.select(tag)), (name, tag)
        for element in soup.find_all(True):
            assert not [key for key in element.attrs if key.startswith("on")], (name, element)
            href = str(element.get("href") or "")
            assert not href.startswith(("javascript:", "data:", "https://example.net")), (name, href)
        if name != "glossary.md":  # its anchors are made from the terms themselves, letters and digits only
            assert {one["id"] for one in soup.select("[id]")} <= {one["id"] for one in plain.select("[id]")}, name
        assert len(soup.select("h2")) <= len(plain.select("h2")), name


def test_author_text_reads_as_it_was_typed(base: Curriculum) -> None:
    for attack in ATTACKS[:5]:
        soup = html_of(written(_all_attacked(base, attack))[SKILL])
        shown = soup.select_one("#step-gloves")
        assert shown is not None
        assert " ".join(shown.get_text().split()) == " ".join(attack.split())


def test_front_matter_cannot_be_broken_out_of(base: Curriculum) -> None:
    attack = 'x" : </title><script>alert(1)</script>\n---\nhide: all'
    head = written(_all_attacked(base, attack))[SKILL].split("\n---\n")[0]
    assert "<" not in head
    assert head.count("\n") == 4, "one line each for title, description, search and tags"
    assert quiet(attack) in head


def test_inert_and_tidy_keep_a_heading_out_of_reach() -> None:
    assert "\x1e" not in inert("\x1e## no\x1e")
    assert (
        tidy("<p>\n\n   a\n\n</p>\n\x1e## Yes { #yes }\x1e\n<p>b</p>")
        == "<p>\na\n</p>\n\n## Yes { #yes }\n\n<p>b</p>\n"
    )


def test_sources_link_to_the_web_only() -> None:
    source = Source(id="x", type="webpage", title="T", URL="javascript:alert(1)", DOI='10.1/"><b>', PMID="1; drop")
    assert links_of(source) == (("https://doi.org/10.1/%22%3E%3Cb%3E", "DOI"),)


# --- links


def test_every_link_meets_its_page_and_anchor(base: Curriculum) -> None:
    pages = written(base)
    soups = {name: html_of(page) for name, page in pages.items()}
    ids = {name: {one["id"] for one in soup.select("[id]")} for name, soup in soups.items()}
    files = {f"sheets/{one.kind}-{one.id}-{paper}.pdf" for one in sheets(base) for paper in ("a4", "us-letter")}
    files |= set(tables_of(base))
    seen = 0
    for name, soup in soups.items():
        for link in soup.select("a[href]"):
            href = str(link["href"])
            if href.startswith("https://"):
                continue
            path, _, anchor = href.partition("#")
            target = posixpath.normpath(posixpath.join(posixpath.dirname(name), path)) if path else name
            if target in files:
                seen += 1
                continue
            assert target in pages, (name, href)
            assert not anchor or anchor in ids[target], (name, href)
            seen += 1
    assert seen > 60


def test_ids_are_unique_in_each_page(base: Curriculum) -> None:
    for name, page in written(base).items():
        ids = [one["id"] for one in html_of(page).select("[id]")]
        assert len(ids) == len(set(ids)), name


@pytest.mark.parametrize("kind", ["techniques", "equipment", "quantities", "sources", "trainers", "skills"])
def test_pages_are_written_though_records_are_missing(base: Curriculum, kind: str) -> None:
    known = getattr(base, kind)
    assert known
    for id in known:
        left = {other: record for other, record in known.items() if other != id}
        pages = written(replace(base, **{kind: left}))
        assert "index.md" in pages
    assert "index.md" in written(replace(base, **{kind: {}}))


def test_pages_are_written_though_the_program_names_nothing(base: Curriculum) -> None:
    bare = base.program.model_copy(update={"levels": (), "rungs": (), "strands": (), "populations": ()})
    assert SKILL in written(replace(base, program=bare, terms=(), local=None))


# --- the banner while editing


def test_the_banner_shows_a_files_own_problems_first() -> None:
    own = Problem(
        location=Location("curriculum/skills/airway/choking.yaml", 7, 2), rule="r", message="Own <b>", remedy="Do"
    )
    other = Problem(
        location=Location("curriculum/program.yaml", 1, 1), rule="r", message="Other", severity=Severity.WARNING
    )
    soup = BeautifulSoup(str(banner_of((other, own), "skills/airway/choking.md")), "html.parser")
    assert "1 errors, 1 warnings" in soup.get_text()
    fold = soup.select_one("details")
    assert fold is not None
    assert "Other" in fold.get_text()
    assert "Own <b>" not in fold.get_text()
    assert "Own <b>" in soup.get_text()
    assert "curriculum/skills/airway/choking.yaml:7:2" in soup.get_text()
    assert str(banner_of((), "index.md")) == ""


# --- references


def test_a_reference_reads_as_the_national_library_of_medicine_prints_it() -> None:
    # The article sample of the ICMJE "Samples of formatted references" kept by the National Library of Medicine, in
    # its form for journals with continuous pagination (value from memory): year;volume(issue):pages.
    source = Source.model_validate(
        {
            "id": "sample",
            "type": "article-journal",
            "title": "Solid-organ transplantation in HIV-infected patients",
            "author": [
                {"family": "Halpern", "given": "SD"},
                {"family": "Ubel", "given": "PA"},
                {"family": "Caplan", "given": "AL"},
            ],
            "container-title": "N Engl J Med",
            "issued": {"date-parts": [["2002"]]},
            "volume": "347",
            "issue": "4",
            "page": "284-7",
        }
    )
    assert formatted((source,))["sample"].replace("–", "-") == (
        "Halpern SD, Ubel PA, Caplan AL. Solid-organ transplantation in HIV-infected patients. "
        "N Engl J Med. 2002;347(4):284-7."
    )


def test_a_reference_never_fails_and_never_marks_up() -> None:
    odd = Source(id="odd", type="document", title="<b>Odd</b> & plain")
    assert "<b>Odd</b> & plain" in formatted((odd,))["odd"]


# --- colours: WCAG 2.2, success criteria 1.4.3 (text, 4.5:1) and 1.4.11 (boxes and marks, 3:1)

TEXT = [
    (ink, ground) for ink in ("ink", "quiet", "link", "care", "alarm", "local") for ground in ("paper", "ground")
] + [
    ("on-bar", "bar"),
    ("on-solid", "solid"),
    ("on-solid", "link"),
    ("alarm", "alarm-ground"),
    ("ink", "alarm-ground"),
    ("care", "care-ground"),
    ("ink", "care-ground"),
    ("local", "local-ground"),
    ("link", "care-ground"),
    ("link", "alarm-ground"),
    ("quiet", "care-ground"),
    ("quiet", "alarm-ground"),
]
BOXES = [(line, ground) for line in ("line", "rail", "solid") for ground in ("paper", "ground")] + [
    ("on-solid", "solid"),
    ("line", "care-ground"),
    ("line", "alarm-ground"),
]


def _palettes() -> dict[str, dict[str, str]]:
    css = assets()["assets/rungbook/palette.css"].decode()
    blocks = re.findall(r'\[data-md-color-scheme="(default|slate)"\] \{([^}]*#[^}]*)\}', css)
    found = {name: dict(re.findall(r"--rb-([a-z-]+): (#[0-9a-f]{6});", body)) for name, body in blocks}
    assert set(found) == {"default", "slate"}
    assert found["default"].keys() == found["slate"].keys()
    return found


def _luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_the_published_extremes() -> None:
    # WCAG 2.2: contrast runs from 1:1 to 21:1. #767676 on white is the known lightest grey that passes 4.5:1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#123456", "#123456") == 1
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast("#777777", "#ffffff") < 4.5


@pytest.mark.parametrize("scheme", ["default", "slate"])
@pytest.mark.parametrize(("pairs", "least"), [(TEXT, 4.5), (BOXES, 3.0)])
def test_every_pair_has_contrast(scheme: str, pairs: list[tuple[str, str]], least: float) -> None:
    palette = _palettes()[scheme]
    poor = {
        (one, other): round(contrast(palette[one], palette[other]), 2)
        for one, other in pairs
        if contrast(palette[one], palette[other]) < least
    }
    assert poor == {}


def test_every_colour_stands_in_the_palette() -> None:
    for name, content in assets().items():
        if name.endswith(".css") and not name.endswith(("palette.css", "print.css")):
            loose = re.findall(r"#[0-9a-fA-F]{3,8}\b(?=[;,) ])", content.decode())
            assert [one for one in loose if one not in ("#111", "#fff")] == [], name


def test_no_asset_names_another_host() -> None:
    for name, content in assets().items():
        if name.endswith((".css", ".js")):
            assert not re.search(rb"(?:https?:)?//[a-z0-9.-]+\.[a-z]{2,}", content), name
