"""Ratings from a CSV, the cut score as the command prints it, and the sheet that raters write on."""

from __future__ import annotations

import io
import random
from pathlib import Path

import pypdf
import pytest

from generator.cli import main
from generator.model import Curriculum, Skill
from generator.reading import read_curriculum
from generator.reading.ratings import ratings_of, read_ratings
from generator.rendering.reports.standard import standard_data, standard_sheet

BASE = Path(__file__).parent / "cases" / "base" / "curriculum"
GOOD = "step,rater,estimate\r\ngloves,A,80\r\n1,B,90.5\r\n"


@pytest.fixture(scope="module")
def curriculum() -> Curriculum:
    found, _ = read_curriculum(BASE)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def skill(curriculum: Curriculum) -> Skill:
    return curriculum.skills["mask-breath"]


def test_estimates_by_id_or_number(skill: Skill) -> None:
    ratings, problems = ratings_of(GOOD.encode(), "r.csv", skill)
    assert problems == ()
    assert ratings is not None
    assert dict(ratings.estimates) == {("gloves", "A"): 0.8, ("gloves", "B"): 0.905}
    assert ratings.raters == ("A", "B")


@pytest.mark.parametrize(
    "text",
    [
        "estimate,rater,step\n80,A,gloves\n",
        "\ufeffStep, Rater ,ESTIMATE\ngloves,A,80\n",
        'step,rater,estimate\n"gloves","A","80"\n\n\n',
        "step,rater,estimate,remark\ngloves,A,80,fine\n",
    ],
)
def test_ways_of_writing_it(skill: Skill, text: str) -> None:
    ratings, problems = ratings_of(text.encode(), "r.csv", skill)
    assert problems == ()
    assert ratings is not None
    assert dict(ratings.estimates) == {("gloves", "A"): 0.8}


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("nothing,A,50", "has no step 'nothing'"),
        ("0,A,50", "has no step '0'"),
        ("4,A,50", "has no step '4'"),
        ("seal,,50", "the rater is missing"),
        ("seal,A,101", "'101' is no estimate"),
        ("seal,A,-1", "'-1' is no estimate"),
        ("seal,A,nan", "'nan' is no estimate"),
        ("seal,A,=1+1", "'=1+1' is no estimate"),
        ("seal,A", "2 cells where the first line has 3"),
        ("gloves,A,70", "rater A has rated step gloves before"),
    ],
)
def test_a_bad_row_is_set_aside_with_its_line(skill: Skill, line: str, says: str) -> None:
    ratings, problems = ratings_of(f"{GOOD}{line}\r\nseal,B,40\r\n".encode(), "r.csv", skill)
    assert [problem.location.line for problem in problems] == [4]
    assert says in problems[0].message
    assert ratings is not None
    assert ratings.estimates["seal", "B"] == 0.4
    assert ratings.estimates["gloves", "A"] == 0.8


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "the first line must name"),
        (b"step,rater\ngloves,A\n", "look at estimate"),
        (b"step,step,rater,estimate\n", "look at step"),
        (b"step,rater,estimate\n", "no estimate could be read"),
        (b"step,rater,estimate\ngloves,A,0.8\n", "looks like shares"),
        (b"step,rater,estimate\ngloves,\xff,80\n", "not UTF-8"),
    ],
)
def test_a_file_that_gives_nothing(skill: Skill, content: bytes, says: str) -> None:
    ratings, problems = ratings_of(content, "r.csv", skill)
    assert ratings is None
    assert says in problems[-1].message


def test_a_file_that_is_not_there(skill: Skill, tmp_path: Path) -> None:
    ratings, problems = read_ratings(tmp_path / "none.csv", skill)
    assert ratings is None
    assert "cannot be opened" in problems[0].message


def test_no_damage_is_a_traceback(skill: Skill) -> None:
    chance = random.Random(11)
    for _ in range(400):
        content = bytearray(GOOD.encode() * 3)
        for _ in range(chance.randint(1, 6)):
            content[chance.randrange(len(content))] = chance.choice(b'\x00",\r\n\xff=;1')
        ratings, problems = ratings_of(bytes(content), "r.csv", skill)
        assert ratings is not None or problems


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two raters, 80 and 90 of 100 on the only step that is not critical; the error is half their distance."""
    path = tmp_path / "r.csv"
    path.write_text("step,rater,estimate\ngloves,A,80\ngloves,B,90\n", encoding="utf-8")
    assert main(["cut", str(path), "mask-breath", "--curriculum", str(BASE)]) == 0
    printed = capsys.readouterr().out
    assert "A learner needs 1 of the 1 steps that are not critical" in printed
    assert "Exactly: 0.85 steps, 85% (2 raters)" in printed
    assert "standard error 0.05 steps" in printed
    apart = printed.split("Must be passed, whatever the score:")[1].split("Estimates")[0]
    assert "2. Press the mask onto the face." in apart
    assert "3. Squeeze the bag once every 6 seconds." in apart
    assert "gloves" not in apart


def test_the_command_says_what_it_could_not_use(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "r.csv"
    path.write_text("step,rater,estimate\nseal,A,80\n", encoding="utf-8")
    assert main(["cut", str(path), "mask-breath", "--curriculum", str(BASE)]) == 1
    printed = capsys.readouterr().out
    assert "No cut score: nothing was counted." in printed
    assert "rater A gave no estimate for step 1" in printed
    assert "Estimates of critical steps do not count: step 2" in printed
    assert main(["cut", str(path), "mask-breth", "--curriculum", str(BASE)]) == 2
    assert "Did you mean mask-breath?" in capsys.readouterr().err
    assert main(["cut", str(tmp_path / "none.csv"), "mask-breath", "--curriculum", str(BASE)]) == 1


def test_the_sheet_keeps_must_pass_steps_apart(curriculum: Curriculum) -> None:
    data = standard_data(curriculum, "mask-breath")
    assert [step["number"] for step in data["steps"]] == [1]
    assert [step["number"] for step in data["must_pass"]] == [2, 3]
    reader = pypdf.PdfReader(io.BytesIO(standard_sheet(curriculum, "mask-breath", paper="a4")))
    text = reader.pages[0].extract_text()
    assert text.index("Estimate these steps") < text.index("Put on gloves") < text.index("Must be passed")
    assert text.index("Must be passed") < text.index("Press the mask onto the face")
    assert float(reader.pages[0].mediabox.width) == pytest.approx(595.28, abs=0.1)


def test_print_standard(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    words = ["print", "standard", "mask-breath", "--curriculum", str(BASE), "--out", str(out), "--paper", "us-letter"]
    assert main(words) == 0
    assert [path.name for path in out.iterdir()] == ["standard-mask-breath-us-letter.pdf"]
    assert "standard-mask-breath-us-letter.pdf" in capsys.readouterr().out
    assert main(["print", "standard", "no-such", "--curriculum", str(BASE), "--out", str(out)]) == 2
