"""Every dependency has its reason on paper, and nothing on paper is gone."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def test_every_dependency_has_its_reason_and_licence() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    optional = project["optional-dependencies"]
    wanted = [*project["dependencies"], *optional["heights"], *optional["maps"]]
    names = {re.split(r"[<>=!~\[; ]", word)[0] for word in wanted}
    paper = (ROOT / "docs" / "decisions" / "dependencies.md").read_text("utf-8")
    rows = re.findall(r"^\| ([\w-]+) \| (.+) \| (.+) \|$", paper, re.MULTILINE)
    told = {name: (why, licence) for name, why, licence in rows if name != "package"}
    assert set(told) == names
    assert all(why.strip() and licence.strip() for why, licence in told.values())
