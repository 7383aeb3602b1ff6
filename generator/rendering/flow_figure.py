"""The flow figure of a scenario, drawn from its layered picture: every place as a number, for a page and for a sheet.

Each state is a box. Under it stand its moves, each with the word of its cause; a line runs from each to the state that
follows, and the line too tells the cause. Nothing here knows SVG or typst.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from generator.analysis.scenario.flow import Arrow, Flow, flow_of
from generator.model import Scenario
from generator.model.scenario import Cause
from generator.rendering.letter_widths import NO_BREAK, Run, run_width, wrapped
from generator.rendering.scenario_words import when

Fill = Callable[[str], str]
Starts = frozenset[str]

PITCH = 1.32
"""Lines stand this many type sizes apart."""
LANE = 0.72
"""Lanes stand this many type sizes apart."""
HEAD = 0.55
"""Length of an arrow's head, in type sizes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The box of a state."""

    state: str
    x: float
    y: float
    width: float
    height: float
    is_start: bool
    is_end: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of text; `y` is its baseline."""

    x: float
    y: float
    runs: tuple[Run, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A straight line in the style of a cause. `moves` are those that it stands for."""

    x1: float
    y1: float
    x2: float
    y2: float
    cause: Cause
    moves: tuple[str, ...]
    has_head: bool = False
    """Whether it ends in an arrow's head at the second point."""
    has_dot: bool = False
    """Whether it ends in a ring there: the move is noted, and nothing follows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A figure, `size` being the size of its type. All in one unit, from the top left."""

    width: float
    height: float
    size: float
    frames: tuple[Frame, ...]
    lines: tuple[Line, ...]
    strokes: tuple[Stroke, ...]
    breaks: tuple[float, ...]
    """Heights at which it may be cut: the tops of boxes."""


def figure_of(
    scenario: Scenario,
    *,
    width: float,
    size: float,
    text: Fill,
    starts: Starts = frozenset(),
    say: Callable[..., str] = str.format,
) -> Figure:
    """The figure of a scenario at a width, with type of a size.

    `text` fills a scenario's words with its numbers, and `say` our own words with their parts.
    """
    flow = flow_of(scenario)
    made = _Drawing(scenario, flow, width=width, size=size, text=text, starts=starts | {scenario.start}, say=say)
    return made.draw()


def sliced(figure: Figure, most: float) -> tuple[Figure, ...]:
    """The figure cut at boxes into parts that are at most so high, where its boxes allow it."""
    cuts = [0.0]
    ends = [*figure.breaks[1:], figure.height]
    for place, end in enumerate(ends):
        if end - cuts[-1] > most and place and ends[place - 1] > cuts[-1]:
            cuts.append(ends[place - 1])
    return tuple(_slice(figure, top, bottom) for top, bottom in zip(cuts, [*cuts[1:], figure.height], strict=True))


def _slice(figure: Figure, top: float, bottom: float) -> Figure:
    inside = [
        stroke for stroke in figure.strokes if max(stroke.y1, stroke.y2) > top and min(stroke.y1, stroke.y2) <= bottom
    ]
    return replace(
        figure,
        height=bottom - top,
        frames=tuple(replace(one, y=one.y - top) for one in figure.frames if top <= one.y < bottom),
        lines=tuple(replace(one, y=one.y - top) for one in figure.lines if top < one.y <= bottom),
        strokes=tuple(
            replace(one, y1=min(max(one.y1, top), bottom) - top, y2=min(max(one.y2, top), bottom) - top)
            for one in inside
        ),
        breaks=tuple(at - top for at in figure.breaks if top <= at < bottom),
    )


class _Drawing:
    """One figure on its way; an object because each row stands under the one before."""

    def __init__(
        self,
        scenario: Scenario,
        flow: Flow,
        *,
        width: float,
        size: float,
        text: Fill,
        starts: Starts,
        say: Callable[..., str],
    ) -> None:
        self._say = say
        self._scenario, self._flow, self._text, self._starts = scenario, flow, text, starts
        self._size, self._width = size, width
        self._pitch = PITCH * size
        self._right = width - flow.lanes * LANE * size - (HEAD + 0.5) * size - 0.2 * size
        self._y = 0.1 * size
        self._frames: list[Frame] = []
        self._lines: list[Line] = []
        self._strokes: list[Stroke] = []
        self._ports: list[tuple[Arrow, float]] = []

    def draw(self) -> Figure:
        breaks = []
        for box in self._flow.boxes:
            breaks.append(self._y)
            self._box(box.state, box.row)
            for arrow in box.arrows:
                self._move(arrow)
            self._y += 0.75 * self._size
        self._trunks()
        breaks[:1] = [0.0] if breaks else []
        return Figure(
            width=self._width,
            height=self._y,
            size=self._size,
            frames=tuple(self._frames),
            lines=tuple(self._lines),
            strokes=tuple(self._strokes),
            breaks=tuple(breaks),
        )

    def _box(self, place: int, row: int) -> None:
        state = self._scenario.states[place]
        is_start, is_end = state.id in self._starts, state.exit is not None
        pad = 0.5 * self._size
        runs: list[Run] = [(f"{row + 1}. {self._text(state.title)}", True)]
        if is_start or is_end:
            runs.append((self._say("(start)") if is_start else self._say("(end)"), False))
        lines = wrapped(runs, (self._right - 2 * pad) / self._size * 0.97)
        height = len(lines) * self._pitch + 0.7 * self._size
        self._frames.append(
            Frame(state=state.id, x=0.1 * self._size, y=self._y, width=self._right - 0.1 * self._size, height=height,
                  is_start=is_start, is_end=is_end)
        )  # fmt: skip
        self._write(lines, pad, self._y + 0.35 * self._size)
        self._y += height + 0.25 * self._size

    def _move(self, arrow: Arrow) -> None:
        left = 1.1 * self._size
        after = self._say("noted") if arrow.move.to is None else self._say("to nowhere")
        if arrow.to is not None:
            after = f"{self._say('to')}{NO_BREAK}{arrow.to + 1}"
        runs: list[Run] = [
            (f"{when(self._say, arrow.move)}:", True),
            (self._text(arrow.move.says), False),
            (after, True),
        ]
        lines = wrapped(runs, (self._right - left - 0.6 * self._size) / self._size * 0.97)
        self._write(lines, left, self._y)
        self._y += len(lines) * self._pitch
        at = self._y - 0.5 * self._pitch
        begin = left + run_width(lines[-1]) * self._size * 1.03 + 0.35 * self._size
        end = begin + 1.6 * self._size if arrow.lane is None else self._lane(arrow.lane)
        self._strokes.append(
            Stroke(x1=begin, y1=at, x2=max(end, begin), y2=at, cause=arrow.move.on, moves=(arrow.move.id,),
                   has_dot=arrow.lane is None)
        )  # fmt: skip
        if arrow.lane is not None:
            self._ports.append((arrow, at))
        self._y += 0.12 * self._size

    def _lane(self, lane: int) -> float:
        return self._right + (HEAD + 0.5 + LANE * lane) * self._size

    def _trunks(self) -> None:
        """One line down (or up) each lane, and its head at the box it leads to."""
        groups: dict[tuple[int, Cause], list[tuple[Arrow, float]]] = {}
        for arrow, at in self._ports:
            assert arrow.to is not None  # only such arrows have a port
            groups.setdefault((arrow.to, arrow.move.on), []).append((arrow, at))
        for (to, cause), ports in groups.items():
            frame = self._frames[to]
            beside = [key for key in groups if key[0] == to]
            entry = frame.y + frame.height * (beside.index((to, cause)) + 1) / (len(beside) + 1)
            x = self._lane(ports[0][0].lane or 0)
            moves = tuple(arrow.move.id for arrow, _ in ports)
            heights = [*(at for _, at in ports), entry]
            self._strokes.append(Stroke(x1=x, y1=min(heights), x2=x, y2=max(heights), cause=cause, moves=moves))
            self._strokes.append(
                Stroke(x1=x, y1=entry, x2=frame.x + frame.width, y2=entry, cause=cause, moves=moves, has_head=True)
            )

    def _write(self, lines: tuple[tuple[Run, ...], ...], x: float, top: float) -> None:
        for number, runs in enumerate(lines):
            self._lines.append(Line(x=x, y=top + (number + 0.77) * self._pitch, runs=runs))
