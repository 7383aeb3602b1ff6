"""The flow figure of a scenario as SVG for a page: narrow enough for a phone, in the colors of the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from generator.analysis.wording import fill
from generator.model import Curriculum, Scenario
from generator.rendering.directions import bare
from generator.rendering.flow_figure import HEAD, Figure, Frame, Stroke, figure_of
from generator.rendering.pages.inert import inert

WIDTH = 344
"""What a phone of 390 pixels leaves for the text of a page."""
SIZE = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowPicture:
    """The figure, and the number that each state has in it."""

    svg: Markup
    numbers: Mapping[str, int]


def flow_svg(curriculum: Curriculum, scenario: Scenario) -> FlowPicture:
    """The figure of a scenario. What it says stands in words below it, so a screen reader is told only what it is."""
    figure = figure_of(
        scenario,
        width=WIDTH,
        size=SIZE,
        text=lambda words: bare(fill(words, curriculum)),
        say=curriculum.say,
        starts=frozenset(scenario.variants.starts if scenario.variants else ()),
    )
    numbers = {frame.state: number for number, frame in reversed(list(enumerate(figure.frames, 1)))}
    count = len(figure.frames)
    title = curriculum.say("Flow of {count} states; the course below says the same in words", count=count)
    return FlowPicture(svg=Markup("\n").join(_svg(figure, title)), numbers=numbers)


def _svg(figure: Figure, title: str) -> list[Markup]:
    size = figure.size
    parts = [
        Markup('<svg class="rb-flow" viewBox="0 0 {} {}" role="img" aria-label="{}" font-size="{}">').format(
            _n(figure.width), _n(figure.height), title, _n(size)
        )
    ]
    parts += [_stroke(stroke, size) for stroke in figure.strokes]
    parts += [_frame(frame, size) for frame in figure.frames]
    for line in figure.lines:
        runs = Markup().join(
            Markup('<tspan font-weight="700">{}</tspan>').format(_kept(text)) if bold else _kept(text)
            for text, bold in line.runs
        )
        parts.append(Markup('<text x="{}" y="{}" xml:space="preserve">{}</text>').format(_n(line.x), _n(line.y), runs))
    parts.append(Markup("</svg>"))
    return parts


def _frame(frame: Frame, size: float) -> Markup:
    kind = " rb-flow-end" if frame.is_end else " rb-flow-start" if frame.is_start else ""
    box = Markup('<rect class="rb-flow-box{}" x="{}" y="{}" width="{}" height="{}"/>')
    outer = box.format(kind, _n(frame.x), _n(frame.y), _n(frame.width), _n(frame.height))
    if not frame.is_end:
        return outer
    gap = 0.2 * size
    inner = box.format("", *map(_n, (frame.x + gap, frame.y + gap, frame.width - 2 * gap, frame.height - 2 * gap)))
    return outer + inner


def _stroke(stroke: Stroke, size: float) -> Markup:
    x1, y1, x2, y2 = map(_n, (stroke.x1, stroke.y1, stroke.x2, stroke.y2))
    drawn = Markup('<path class="rb-flow-line rb-flow-{}" d="M{} {}L{} {}"/>').format(stroke.cause, x1, y1, x2, y2)
    if stroke.has_head:
        back, half = stroke.x2 + HEAD * size, 0.28 * size
        drawn += Markup('<path class="rb-flow-head" d="M{} {}L{} {}L{} {}Z"/>').format(
            x2, y2, _n(back), _n(stroke.y2 - half), _n(back), _n(stroke.y2 + half)
        )
    if stroke.has_dot:
        drawn += Markup('<circle class="rb-flow-dot" cx="{}" cy="{}" r="{}"/>').format(x2, y2, _n(0.25 * size))
    return drawn


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")


def _kept(text: str) -> Markup:
    """Author text with the space at its edge, which joins it to the run before."""
    return Markup(" " if text[:1] == " " else "") + inert(text)
