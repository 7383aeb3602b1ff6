"""The debrief from a saved log: times beside published numbers, stops, steps never marked, rows that are no events."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from generator.analysis.scenario.debrief import Log, bound_of, read_log
from generator.cli import main
from generator.model import Curriculum, Quantity
from generator.model.scenario import Target
from generator.reading import read_curriculum
from generator.reading.run_log import read_run_log
from generator.rendering.scenario_text import debrief_text

SHIPPED = Path(__file__).parent.parent / "curriculum"
NAME = "down-at-the-bus-stop"
LOG = """second,clock,event,move,state,words
0,0:00,start,,found,Lies still and gasps
4,0:04,move,hands-on,,First look and feel begins
18,0:18,move,first-push,pushing,First push on the chest
20,0:20,seen,compressions-adult/depth,,Push down.
30,0:30,stop,,,Safety stop
30,0:30,go,,,Went on
52,0:52,move,pads-on,shock-advised,Both pads on
60,1:00,move,hands-off,,Last push before the shock
66,1:06,move,shock-given,shocked,Button pressed
68,1:08,move,push-again,second-round,First push after the shock
90,1:30,note,,,"'=a note, with ""quotes"" in it"
130,2:10,move,change-made,,Compressors changed
188,3:08,move,restarts,heart-beats,The waveform jumps
230,3:50,move,summed-up,handover,Summary said aloud
"""


@cache
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    return curriculum


def read(folder: Path, text: str | bytes) -> tuple[Log, list[tuple[int, str]], str]:
    path = folder / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.replace("\n", "\r\n").encode())
    scenario = shipped().scenarios[NAME]
    events, problems = read_run_log(path, scenario)
    log = read_log(shipped(), scenario, events)
    said = debrief_text(shipped(), scenario, log, events)
    return log, [(problem.location.line, problem.message) for problem in problems], said


def test_a_log_worked_by_hand(tmp_path: Path) -> None:
    log, problems, said = read(tmp_path, LOG)
    assert problems == []
    assert [(took.target.id, took.seconds, took.is_outside) for took in log.times] == [
        ("to-first-push", 14, True),  # published: at most 10 seconds for the check (AHA 2025)
        ("to-shock", 66, False),
        ("round-the-shock", 8, False),
        ("to-change", 112, False),
    ]
    assert log.stops == (30,)
    assert log.entered == ("found", "pushing", "shock-advised", "shocked", "second-round", "heart-beats", "handover")
    missed = {(one.skill, one.step.id) for one in log.missed}
    assert ("compressions-adult", "depth") not in missed  # marked as seen
    assert ("recognize-cardiac-arrest", "start") not in missed  # marked by its move
    assert {("compressions-adult", "release"), ("resuscitation-team", "share")} <= missed
    assert (
        "From the first look and feel to the first push: 0:14; published: at most 10 seconds, longer [aha2025-bls"
        in flat(said)
    )
    assert "Safety stops: 1, at 0:30 on the clock, which stood still" in said
    assert 'note: =a note, with "quotes" in it' in said
    for phase in shipped().scenarios[NAME].debrief:
        assert f"{phase.name}, {phase.minutes} min" in said


def flat(text: str) -> str:
    return " ".join(text.split())


def test_a_step_that_is_never_marked_names_the_states_that_called_for_it(tmp_path: Path) -> None:
    log, _, _ = read(tmp_path, LOG)
    release = next(one for one in log.missed if one.step.id == "release")
    assert release.states == ("pushing", "second-round")


def test_bad_rows_are_told_with_their_lines_and_none_is_lost(tmp_path: Path) -> None:
    lines = LOG.splitlines()
    lines[3] = "soon,0:18,move,first-push,pushing,First push on the chest"
    lines[5] = "30,0:30,halt,,,Safety stop"
    lines[6] = "30,0:30,go"
    lines[8] = "60,1:00,move,,,Nothing named"
    lines[9] = "66,1:06,move,shock-from-elsewhere,nowhere,Button"
    log, problems, said = read(tmp_path, "\n".join(lines) + "\n\n")
    assert [line for line, _ in problems] == [4, 6, 7, 9, 10, 10]
    assert "“soon”" in problems[0][1]
    assert "“halt”" in problems[1][1]
    assert "3 cells" in problems[2][1]
    assert "does not say which" in problems[3][1]
    assert "“shock-from-elsewhere”" in problems[4][1]
    assert "“nowhere”" in problems[5][1]
    assert log.times[0].seconds is None and "did not happen" in said
    assert log.stops == ()
    # 14 rows, of which four are no events; one more is kept though the scenario does not know it.
    assert said.count("Button") == 1


def test_a_note_with_a_line_break_keeps_the_lines_right(tmp_path: Path) -> None:
    text = LOG.replace('"\'=a note, with ""quotes"" in it"', '"two\nlines"').replace("130,2:10,move", "x,2:10,move")
    _, problems, _ = read(tmp_path, text)
    assert [line for line, _ in problems] == [14]


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (b"", 1),
        (b"a,b\n1,2\n", 1),
        (b"second,event\n0,start\n\xff\xfe,note\n", 3),
        (b'second,event\n0,"start\n' * 3, 2),
    ],
)
def test_what_is_no_log_is_said_and_does_no_harm(tmp_path: Path, data: bytes, line: int) -> None:
    log, problems, _ = read(tmp_path, data)
    assert problems and problems[0][0] == line
    assert log.times[0].seconds is None


def test_a_time_that_should_be_long_is_outside_when_it_is_short() -> None:
    hold = Quantity.model_validate(
        {"name": "Hold", "at_least": 3, "unit": "minutes", "sources": [], "checked": "memory"}
    )
    span = Quantity.model_validate(
        {"name": "Wait", "low": 2, "high": 3, "unit": "minutes", "sources": [], "checked": "memory"}
    )
    words = Quantity.model_validate({"name": "Words", "says": "about a while", "sources": [], "checked": "memory"})
    target = {"id": "t", "name": "T", "since": "start", "until": "m"}
    longer = Target.model_validate(target | {"within": "q", "lower_is_better": False})
    shorter = Target.model_validate(target | {"within": "q"})

    def seconds(quantity: Quantity, which: Target) -> float | None:
        bound = bound_of({"q": quantity}, which)
        assert bound is not None and bound.is_provisional
        return bound.seconds

    assert (seconds(hold, longer), seconds(hold, shorter)) == (180, None)
    assert (seconds(span, longer), seconds(span, shorter)) == (120, 180)
    assert seconds(words, shorter) is None
    assert bound_of({}, shorter) is None


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "log.csv"
    path.write_text(LOG, encoding="utf-8")
    here = ["--curriculum", str(SHIPPED)]
    assert main(["debrief", str(path), NAME, *here]) == 0
    assert capsys.readouterr().out.startswith("Debrief: Down at the bus stop\n")
    assert main(["debrief", str(path), "down-at-the-bus", *here]) == 2
    assert f"Did you mean {NAME}?" in capsys.readouterr().err
    path.write_text(LOG + "end,,,,,\n", encoding="utf-8")
    assert main(["debrief", str(path), NAME, *here]) == 1
    told = capsys.readouterr()
    assert "log.csv:16:1: error" in told.err and "Times" in told.out
    assert main(["debrief", str(tmp_path / "none.csv"), NAME, *here]) == 3
