"""A large invented curriculum for benchmarks: the shipped one, with its skills copied under seeded new names.

Every copy keeps the shape of a real skill (steps, ladder, sources) and differs in its ids, titles and a few words, so
that no page or sheet equals another. It is made only to be measured; nobody should read it.
"""

from __future__ import annotations

import random
import shutil
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).resolve().parents[2]
SYLLABLES = ("bar", "den", "fol", "gim", "hes", "kor", "lum", "nev", "pas", "rin", "sot", "tul", "vam", "wex")


def make_curriculum(folder: Path, *, skills: int, seed: int) -> Path:
    """Write `folder`/curriculum with exactly `skills` skills, and the site's configuration beside it.

    ValueError when there are fewer than the shipped ones. The same seed gives the same files.
    """
    shipped = sorted((ROOT / "curriculum" / "skills").rglob("*.yaml"))
    if skills < len(shipped):
        raise ValueError(f"at least {len(shipped)} skills, the shipped ones, not {skills}")
    folder.mkdir(parents=True, exist_ok=True)
    curriculum = folder / "curriculum"
    shutil.copytree(ROOT / "curriculum", curriculum)
    shutil.copy2(ROOT / "mkdocs.yml", folder / "mkdocs.yml")
    shutil.copytree(ROOT / "site_overrides", folder / "site_overrides")
    # Every scalar stays the text it is in the file: `1.10` and `no` must not change on the way.
    records = [(path, yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)) for path in shipped]
    chance = random.Random(seed)
    name = ""
    for number in range(skills - len(shipped)):
        round_, index = divmod(number, len(shipped))
        if index == 0:
            name = f"{''.join(chance.choices(SYLLABLES, k=2))}-{round_ + 1}"
        path, record = records[index]
        copy = _renamed(record, name, {other["id"] for _, other in records}, chance)
        head = "# yaml-language-server: $schema=../../.schema/skill.json\n"
        target = curriculum / path.relative_to(ROOT / "curriculum").with_stem(copy["id"])
        target.write_text(head + yaml.dump(copy, sort_keys=False, allow_unicode=True, width=10_000), encoding="utf-8")
    return curriculum


def _renamed(record: dict[str, Any], name: str, known: set[str], chance: random.Random) -> dict[str, Any]:
    word = name.partition("-")[0].capitalize()
    copy: dict[str, Any] = yaml.load(yaml.dump(record, Dumper=yaml.SafeDumper), Loader=yaml.BaseLoader)
    copy["id"] = f"{record['id']}-{name}"
    copy["title"] = f"{record['title']}, {word} {name.split('-')[1]}"
    copy["also_called"] = [f"{other} {word}" for other in record.get("also_called", ())]
    # Round by round every skill is copied in the same order, so the last round may lack a skill's prerequisite copy:
    # those of the shipped skills always exist.
    copy["prerequisites"] = [other for other in record.get("prerequisites", ()) if other in known]
    for step in copy["steps"]:
        if "why" in step:
            step["why"] = f"{step['why']} Group {word} hears this {chance.choice(('first', 'last', 'twice'))}."
    return copy
