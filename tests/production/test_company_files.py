"""A company is written into a file while its people go on working, and read by another site."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from finishing.models import Crew, House
from scheduling.services import company_export
from scheduling.services.company_export import export_company
from scheduling.services.company_file import kept_models
from scheduling.services.publish import publish_plan
from tests.factories import make_crew
from tests.production.at_once import WITHIN_S, People
from tests.production.conftest import MIGRATED
from tests.production.stack import Stack
from tests.production.told import SUNDAY, told_and_planned_anew
from tests.sites import MONDAY

pytestmark = pytest.mark.services


def test_a_file_is_of_one_moment_though_somebody_writes_meanwhile(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    company = told_and_planned_anew()
    before = export_company(company=company, now=MONDAY)
    read = company_export._rows_of
    others: list[None] = []

    def others_write() -> None:
        make_crew(company, "Hired meanwhile")
        publish_plan(company=company, now=SUNDAY)

    def read_slowly(model: Any, of: Any) -> list[Any]:
        if model is House:  # some kinds of rows are read by now, most are not
            others.append(people.begin(others_write).result(WITHIN_S))
        return read(model, of)

    assert kept_models().index(Crew) < kept_models().index(House)
    with monkeypatch.context() as patch, People() as people:
        patch.setattr("scheduling.services.company_export._rows_of", read_slowly)
        file = export_company(company=company, now=MONDAY)
    assert others, "they did not have to wait"
    assert file == before
    after = export_company(company=company, now=MONDAY)
    assert [len(of["rows"]["scheduling.Publication"]) for of in (before, after)] == [1, 2]


def test_a_company_goes_to_another_site_by_its_commands(stack: Stack, tmp_path: Path) -> None:
    company = told_and_planned_anew()
    file, again = tmp_path / "company.json", tmp_path / "again.json"
    stack.manage("export_company", str(file), "--company", company.name)
    elsewhere = replace(stack, database=f"{stack.database}_elsewhere")
    stack.postgres.make_database(elsewhere.database, MIGRATED)
    elsewhere.manage("import_company", str(file))
    elsewhere.manage("export_company", str(again), "--company", company.name)
    first, second = (json.loads(path.read_text(encoding="utf-8")) for path in (file, again))
    assert first["rows"] == second["rows"]
    assert (first["format"], first["version"]) == ("coatweave company", 1)
