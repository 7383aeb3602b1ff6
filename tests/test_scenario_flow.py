"""The flow of a scenario: layers, lanes and places, of invented machines and of the shipped scenarios.

The rules are the project's own; they stand at the top of `generator/analysis/scenario/flow.py`.
"""

from __future__ import annotations

import random
import struct
from collections import Counter
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from test_scenarios import action, random_machine, scenario, timer

from generator.analysis.scenario.flow import flow_of, in_flow_order
from generator.model import Curriculum, Scenario
from generator.reading import read_curriculum
from generator.rendering.flow_figure import Figure, figure_of, sliced
from generator.rendering.letter_widths import BOLD, REGULAR, run_width, width_of, wrapped

TOP = Path(__file__).parent.parent
FONTS = TOP / "generator" / "rendering" / "sheets" / "fonts"
NAMES = sorted(path.stem for path in (TOP / "curriculum" / "scenarios").glob("*.yaml"))


@cache
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(TOP / "curriculum")
    assert curriculum is not None
    return curriculum


def figure(made: Scenario, *, width: float = 344, size: float = 14) -> Figure:
    return figure_of(made, width=width, size=size, text=lambda words: words)


def many() -> list[Scenario]:
    rng = random.Random(7)
    return [random_machine(rng) for _ in range(150)] + [shipped().scenarios[name] for name in NAMES]


def test_layers_worked_by_hand() -> None:
    made = scenario(
        [
            {"id": "d", "title": "D", "exit": "End."},
            {"id": "a", "title": "A", "moves": [action("ab", "b"), timer("ad", "d", 9), action("note", None)]},
            {"id": "c", "title": "C", "moves": [action("ca", "a"), action("cd", "d")]},
            {"id": "b", "title": "B", "moves": [action("bc", "c"), timer("bd", "d", 9)]},
            {"id": "lost", "title": "Lost", "moves": [action("ld", "d")]},
        ]
    )
    flow = flow_of(made)
    # a, then b, then c, then d below all that lead to it; c back to a closes a circle; nothing leads to `lost`.
    assert [made.states[box.state].id for box in flow.boxes] == ["a", "b", "c", "d", "lost"]
    assert [box.layer for box in flow.boxes][:4] == [0, 1, 2, 3]
    lanes = {arrow.move.id: arrow.lane for box in flow.boxes for arrow in box.arrows}
    assert lanes["ad"] == lanes["bd"]  # one target, one cause
    assert lanes["note"] is None
    assert lanes["cd"] != lanes["ad"]  # one target, two causes


@pytest.mark.parametrize("made", many(), ids=lambda made: made.id)
def test_every_state_and_every_move_is_drawn_once(made: Scenario) -> None:
    flow = flow_of(made)
    assert sorted(box.state for box in flow.boxes) == list(range(len(made.states)))
    assert [box.row for box in flow.boxes] == list(range(len(made.states)))
    drawn = figure(made)
    assert [frame.state for frame in drawn.frames] == [state.id for state in in_flow_order(made)]
    # A move has one line of its own, from its words to its lane or to its ring; a lane's line stands for several.
    own = Counter(stroke.moves[0] for stroke in drawn.strokes if not stroke.has_head and stroke.y1 == stroke.y2)
    moves = [move.id for state in made.states for move in state.moves]
    assert own == Counter(moves)
    causes = {move.id: move.on for state in made.states for move in state.moves}
    assert all(causes[move] == stroke.cause for stroke in drawn.strokes for move in stroke.moves)
    frames = {frame.state: frame for frame in drawn.frames}
    heads = {move: stroke for stroke in drawn.strokes if stroke.has_head for move in stroke.moves}
    for state in made.states:
        for move in state.moves:
            if move.to is None:
                assert move.id not in heads
                continue
            target, head = frames[move.to], heads[move.id]
            assert head.x2 == pytest.approx(target.x + target.width)
            assert target.y < head.y2 < target.y + target.height
            assert f"to {list(frames).index(move.to) + 1}" in words_of(drawn)
    assert words_of(drawn).count("when done:") == sum(move.on == "action" for s in made.states for move in s.moves)


def words_of(drawn: Figure) -> str:
    return " ".join("".join(text for text, _ in line.runs) for line in drawn.lines).replace("\u00a0", " ")


@pytest.mark.parametrize("made", many(), ids=lambda made: made.id)
def test_nothing_lies_over_anything_else(made: Scenario) -> None:
    drawn = figure(made)
    tops = [(frame.y, frame.y + frame.height) for frame in drawn.frames]
    assert all(below[0] > above[1] for above, below in pairwise(tops))
    right = max(frame.x + frame.width for frame in drawn.frames)
    assert all(line.x + run_width(line.runs) * drawn.size <= right + 0.01 for line in drawn.lines)
    assert all(0 <= x <= drawn.width for stroke in drawn.strokes for x in (stroke.x1, stroke.x2))
    # Lanes of one column never touch, so two causes are never one line.
    down = [stroke for stroke in drawn.strokes if stroke.x1 == stroke.x2 and stroke.y1 != stroke.y2]
    for number, one in enumerate(down):
        for other in down[number + 1 :]:
            assert one.x1 != other.x1 or one.y2 < other.y1 or other.y2 < one.y1


@pytest.mark.parametrize("name", NAMES)
def test_a_cut_figure_keeps_every_box_and_every_word(name: str) -> None:
    whole = figure(shipped().scenarios[name], width=520, size=11)
    parts = sliced(whole, 300)
    assert len(parts) > 1
    assert all(part.height <= 300 for part in parts)
    assert sum(part.height for part in parts) == pytest.approx(whole.height)
    assert [frame.state for part in parts for frame in part.frames] == [frame.state for frame in whole.frames]
    assert [line.runs for part in parts for line in part.lines] == [line.runs for line in whole.lines]
    for part in parts:
        assert all(-0.01 <= y <= part.height + 0.01 for s in part.strokes for y in (s.y1, s.y2))
    lengths = [sum(abs(s.y2 - s.y1) for s in one) for one in (whole.strokes, [s for p in parts for s in p.strokes])]
    assert lengths[0] == pytest.approx(lengths[1])


def test_a_scenario_in_any_shape_has_a_flow() -> None:
    odd = scenario([{"id": "a", "title": "A", "moves": [action("x", "nowhere"), action("self", "a")]},
                    {"id": "a", "title": "A again"}], start="b")  # fmt: skip
    drawn = figure(odd)
    assert len(drawn.frames) == 2
    assert "to nowhere" in words_of(drawn)


def test_letter_widths_are_those_of_the_font_files() -> None:
    for name, table in (("400Regular", REGULAR), ("700Bold", BOLD)):
        data = (FONTS / f"AtkinsonHyperlegibleNext_{name}.ttf").read_bytes()
        assert tuple(widths_in(data)) == table


def widths_in(data: bytes) -> list[int]:
    """Advance widths of space to tilde in thousandths, by the OpenType tables head, hhea, hmtx and cmap (format 4)."""

    def short(at: int) -> int:
        return int(struct.unpack(">H", data[at : at + 2])[0])

    tables = {
        data[at : at + 4]: struct.unpack(">I", data[at + 8 : at + 12])[0] for at in range(12, 12 + 16 * short(4), 16)
    }
    per_em, metrics = short(tables[b"head"] + 18), short(tables[b"hhea"] + 34)
    cmap = tables[b"cmap"]
    starts = [
        cmap + struct.unpack(">I", data[at + 4 : at + 8])[0]
        for at in range(cmap + 4, cmap + 4 + 8 * short(cmap + 2), 8)
    ]
    sub = next(at for at in starts if short(at) == 4)
    segments = short(sub + 6)

    def glyph(code: int) -> int:
        for at in range(0, segments, 2):
            if code <= short(sub + 14 + at):
                first, delta = short(sub + 16 + segments + at), short(sub + 16 + 2 * segments + at)
                place = sub + 16 + 3 * segments + at
                assert code >= first
                if short(place) == 0:
                    return (code + delta) % 65536
                return (short(place + short(place) + 2 * (code - first)) + delta) % 65536
        raise AssertionError(code)

    return [
        round(short(tables[b"hmtx"] + 4 * min(glyph(code), metrics - 1)) * 1000 / per_em) for code in range(32, 127)
    ]


def test_lines_are_broken_at_spaces_and_never_too_wide() -> None:
    runs = [("when done:", True), ("a glove, and then a very long word: " + "m" * 60, False)]
    lines = wrapped(runs, 12)
    assert all(run_width(line) <= 12 for line in lines)
    assert "".join(text for line in lines for text, _ in line).replace(" ", "") == (
        "whendone:aglove,andthenaverylongword:" + "m" * 60
    )
    assert wrapped([("", False)], 5) == ()
    assert width_of("i", bold=False) < width_of("m", bold=False)
