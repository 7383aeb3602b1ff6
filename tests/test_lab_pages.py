"""Pages of lab days and stations: what a reader finds, what files they offer, and author text that does nothing."""

from __future__ import annotations

import math
import posixpath
from dataclasses import replace
from datetime import date
from functools import cache
from types import SimpleNamespace
from typing import Any

import markdown
import pytest
from bs4 import BeautifulSoup
from lab_days import EIGHT, lab, planned, shipped

from generator.model import Curriculum
from generator.rendering.lab_day import LabDay
from generator.rendering.pages import pages_of
from generator.rendering.pages.navigation import navigation_of
from generator.rendering.tables.labs import lab_tables

TODAY = date(2026, 11, 25)
ATTACKS = (
    '<script>alert("x")</script>',
    "**bold** _em_ `code` [a](javascript:alert(1))",
    "{{ 7 * 7 }} {% raw %}",
    '" onclick="x',
)


def with_lab(**changed: Any) -> Curriculum:
    return replace(shipped(), labs={"invented-day": lab(**changed)})


def written(curriculum: Curriculum | None = None, days: dict[str, LabDay] | None = None) -> dict[str, str]:
    made = curriculum or with_lab()
    sheets = [SimpleNamespace(kind="timetable", id="invented-day", revision="0123abcd")]
    sheets += [SimpleNamespace(kind=kind, id=id, revision="0123abcd") for kind in ("station", "poster") for id in EIGHT]
    given = {"invented-day": planned()} if days is None else days
    return pages_of(made, sheets=sheets, problems=(), today=TODAY, days=given)


@cache
def soup(page: str) -> BeautifulSoup:
    return soup_of(written()[page])


def soup_of(page: str) -> BeautifulSoup:
    body = page.split("---\n", 2)[2]
    return BeautifulSoup(markdown.markdown(body, extensions=["attr_list", "tables", "toc"]), "html.parser")


def said(node: Any) -> str:
    return " ".join(node.get_text(" ").split())


LAB, STATION = "labs/invented-day.md", "stations/oral-adjunct-combine.md"


def test_every_lab_and_station_has_a_page_and_a_place_in_the_navigation() -> None:
    pages = written(shipped(), {})
    wanted = {f"labs/{id}.md" for id in shipped().labs} | {f"stations/{id}.md" for id in shipped().stations}
    wanted |= {"labs/index.md", "stations/all.md"}
    assert wanted <= pages.keys()
    chapter = next(one["Lab days"] for one in navigation_of(shipped(), prose=()) if "Lab days" in one)
    listed = {one for one in chapter if isinstance(one, str)}
    listed |= {one for part in chapter if isinstance(part, dict) for one in part["Stations"]}
    assert {one for one in listed if one.startswith(("labs/", "stations/"))} == wanted
    dated = [shipped().labs[one[5:-3]].on for one in chapter if isinstance(one, str) and one[5:-3] in shipped().labs]
    assert dated == sorted(dated)


def test_a_curriculum_without_labs_has_no_such_chapter() -> None:
    bare = replace(shipped(), labs={}, stations={})
    assert not [one for one in navigation_of(bare, prose=()) if "Lab days" in one]
    assert not [name for name in written(bare, {}) if name.startswith(("labs/", "stations/"))]


def test_the_whole_day_is_a_table_with_headers_both_ways() -> None:
    table = soup(LAB).select_one("table.rb-timetable")
    assert table is not None
    heads = [said(th) for th in table.select("thead th[scope=col]")]
    assert heads[0] == "Time"
    assert [head.split(" ")[:2] for head in heads[1:]] == [["Station", str(n)] for n in range(1, 9)]
    rows = table.select("tbody tr")
    assert len(rows) == 8 + 2
    assert all(row.select_one("th[scope=row]") for row in rows)
    first = [said(cell) for cell in rows[0].select("td")]
    assert first == [f"Group {n} Instructor {'ABCDEFGH'[n - 1]}" for n in range(1, 9)]
    breaks = [said(row) for row in table.select("tr.rb-break")]
    assert breaks == ["09:25–09:40 Coffee", "11:10–11:50 Lunch"]
    assert table.parent is not None
    assert table.parent["tabindex"] == "0"
    assert table.parent["aria-label"]


def test_cards_by_group_instructor_and_trainer_hold_every_visit() -> None:
    page = soup(LAB)
    for anchor, cards in (("group-", 8), ("by-", 8), ("on-", 6)):
        found = [h3.parent for h3 in page.select(f"h3[id^={anchor}]")]
        assert len(found) == cards
        boxes = [
            box
            for card in found
            if card
            for ol in card.select("ol.rb-turns")
            for box in ol.select(".rb-station-number")
        ]
        assert len(boxes) == 64
    group = page.select_one("#group-3")
    assert group is not None
    assert group.parent is not None
    lines = [said(li) for li in group.parent.select("ol.rb-turns > li")]
    assert lines[0] == "08:30 Station 3 The size that moves air Instructor C"


def test_who_performs_is_told_by_the_learners_numbers() -> None:
    group = soup(LAB).select_one("#group-1")
    assert group is not None
    assert group.parent is not None
    fold = group.parent.select_one("details")
    assert fold is not None
    assert "1 (2), 2 (3), 3 (1)" in said(fold)


def test_the_verdict_stands_under_the_timetable_in_words() -> None:
    verdict = soup(LAB).select_one(".rb-verdict")
    assert verdict is not None
    assert [said(p) for p in verdict.select("p")] == list(planned().verdict)


def test_the_set_up_list_tells_trainer_time_supplies_and_cleaning() -> None:
    stations = soup(LAB).select(".rb-set-up-station")
    assert len(stations) == 8
    text = said(stations[2])
    for wanted in ("Station 3 The size that moves air", "Ready by 08:30", "7 min to set up", "48, 2 for each learner",
                   "24 checklists", "24 × Pair of gloves", "Clean"):  # fmt: skip
        assert wanted in text, wanted
    bring = soup(LAB).select_one("#bring")
    assert bring is not None
    assert "384 × Disinfectant wipe" in said(bring.find_next("ul"))


def test_amounts_to_bring_are_whole_and_enough() -> None:
    """4.8 of something are 5 to bring."""
    day = planned()
    exact = dict(day.bring)["Lung bag"]
    assert exact != exact.to_integral_value()
    bring = soup(LAB).select_one("#bring")
    assert bring is not None
    assert f"{math.ceil(exact)} × Lung bag" in said(bring.find_next("ul"))


def test_each_file_that_a_page_offers_is_made() -> None:
    made = lab_tables(with_lab(), {"invented-day": planned()})
    offered = set()
    for link in soup(LAB).select("a[href]"):
        target = posixpath.normpath(posixpath.join("labs", str(link["href"])))
        if target.startswith("tables/"):
            offered.add(target)
    assert offered == made.keys()
    assert len(offered) == 2 + 8 + 8


def test_links_between_the_pages_meet_their_targets() -> None:
    pages = written()
    soups = {name: soup_of(page) for name, page in pages.items() if name.startswith(("labs/", "stations/"))}
    ids: dict[str, set[str]] = {}
    seen = 0
    for name, one in soups.items():
        for link in one.select("a[href]"):
            path, _, anchor = str(link["href"]).partition("#")
            target = posixpath.normpath(posixpath.join(posixpath.dirname(name), path)) if path else name
            if target.startswith(("tables/", "sheets/")):
                continue
            assert target in pages, (name, target)
            if anchor:
                if target not in ids:
                    ids[target] = {str(tag["id"]) for tag in soup_of(pages[target]).select("[id]")}
                assert anchor in ids[target], (name, link["href"])
            seen += 1
    assert seen > 300


def test_ids_are_unique_on_each_page() -> None:
    for name, page in written().items():
        if name.startswith(("labs/", "stations/")):
            ids = [tag["id"] for tag in soup_of(page).select("[id]")]
            assert len(ids) == len(set(ids)), name


def test_an_impossible_day_says_why_and_keeps_its_set_up_list() -> None:
    clash = ("Both stations need the only call simulator.", "With a second one the day fits.")
    day = LabDay(lab=lab(), group_sizes=(), slots=(), turns=(), clash=clash)
    page = soup_of(written(days={"invented-day": day})[LAB])
    box = page.select_one(".rb-problems")
    assert box is not None
    assert [said(li) for li in box.select("li")] == list(clash)
    assert page.select_one("table.rb-timetable") is None
    assert len(page.select(".rb-set-up-station")) == 8
    assert not [a for a in page.select("a[href]") if "tables/" in str(a["href"])]


def test_a_day_that_was_not_planned_names_the_command() -> None:
    page = soup_of(written(days={})[LAB])
    assert "rungbook rotate invented-day" in said(page)


def test_a_station_page_holds_what_its_guide_holds() -> None:
    station = shipped().stations["oral-adjunct-combine"]
    page = said(soup(STATION))
    texts = [station.brief, station.peers, *station.set_up, *station.reset, *station.cleaning]
    texts += [text for error in station.errors for text in (error.error, error.cue)]
    texts += [prompt.prompt for prompt in station.prompts]
    assert len(texts) > 10
    for text in texts:
        assert " ".join(text.split()) in page, text
    minutes = [said(li.select_one(".rb-minute")) for li in soup(STATION).select(".rb-minutes > li")]
    assert minutes == [f"{prompt.at_minute} min" for prompt in station.prompts] + [f"{station.minutes} min"]
    assert shipped().program.medical_direction in page
    for line in shipped().program.usual_cautions:
        assert line in page


def test_a_station_page_names_what_its_trainer_does_not_prove() -> None:
    page = soup_of(written()["stations/bag-mask-one-disrupt.md"])
    rows = [said(row) for row in page.select(".rb-false-here > div")]
    assert [row.split(" ")[0] for row in rows] == ["given", "given", "silent"]
    assert "Head tilt with chin lift" in rows[0]
    proves = page.select_one("details .rb-worth-rows")
    assert proves is not None
    assert "Mask seal" in said(proves)
    assert "proves every technique" not in said(page)


@pytest.mark.parametrize("attack", ATTACKS)
def test_author_text_does_nothing(attack: str) -> None:
    base = with_lab()
    station = base.stations["oral-adjunct-combine"]
    evil_station = station.model_copy(
        update={
            "title": attack,
            "brief": attack,
            "peers": attack,
            "set_up": (attack,),
            "prompts": tuple(prompt.model_copy(update={"prompt": attack}) for prompt in station.prompts),
        }
    )
    trainer = base.trainers[station.trainer].model_copy(update={"name": attack})
    evil_lab = base.labs["invented-day"].model_copy(update={"title": attack})
    evil = replace(
        base,
        stations={**base.stations, station.id: evil_station},
        trainers={**base.trainers, trainer.id: trainer},
        labs={"invented-day": evil_lab},
    )
    day = planned()
    slots = tuple(slot if slot.block else replace(slot, name=attack) for slot in day.slots)
    evil_day = replace(day, lab=evil_lab, slots=slots, verdict=(attack, attack), bring=((attack, day.bring[0][1]),) * 5)
    clean, dirty = written(), written(evil, {"invented-day": evil_day})
    assert clean.keys() == dirty.keys()
    for name in (LAB, STATION, "labs/index.md", "stations/all.md"):
        plain, bad = soup_of(clean[name]), soup_of(dirty[name])
        for tag in ("script", "img", "em", "code", "iframe", "pre", "b", "i"):
            assert len(bad.select(tag)) == len(plain.select(tag)), (name, tag)
        for element in bad.find_all(True):
            assert not [key for key in element.attrs if key.startswith("on")], (name, element)
            assert not str(element.get("href") or "").startswith("javascript:")
        assert {one["id"] for one in bad.select("[id]")} <= {one["id"] for one in plain.select("[id]")}
    assert " ".join(attack.split()) in " ".join(soup_of(dirty[STATION]).get_text().split())
