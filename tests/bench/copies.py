"""Many companies from one: every row copied with ids of its own, in a few statements a kind."""

import copy
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import batched
from typing import TYPE_CHECKING, Any
from uuid import uuid4

if TYPE_CHECKING:
    from finishing.models import Company

AT_ONCE = 20
"""So many companies are copied in one go: their rows are in memory together."""
ROWS_AT_ONCE = 2000
NOT_COPIED = frozenset({"finishing.User", "finishing.Deed", "finishing.Invitation"})
"""An e-mail address belongs to one person of one company."""


def copy_company(
    template: "Company", count: int, kinds: Sequence[type[Any]] | None = None
) -> list["Company"]:
    """Copy a company so often. kinds: of its rows, each behind those that it names; all of them
    unless told."""
    from scheduling.services.company_file import kept_models

    models: list[Any] = list(kinds or kept_models())
    rows = {
        model: list(model._base_manager.filter(**_mine(model, template)).order_by("pk"))
        for model in models
        if model._meta.label not in NOT_COPIED
    }
    made: list[Company] = []
    for numbers in batched(range(count), AT_ONCE, strict=False):
        made += _Copying(rows, [*numbers]).copies()
    return made


def _mine(model: Any, company: "Company") -> dict[str, Any]:
    return {"pk": company.pk} if model is type(company) else {"company": company}


@dataclass
class _Copying:
    """Some copies in the making. pks: by kind and copy, what became of each row of the template."""

    rows: dict[Any, list[Any]]
    numbers: list[int]
    pks: dict[tuple[Any, int], dict[int, int]] = field(default_factory=dict)

    def copies(self) -> list["Company"]:
        first, *others = [self._stored(model) for model in self.rows]
        del others
        return first

    def _stored(self, model: Any) -> list[Any]:
        named = [one for one in model._meta.concrete_fields if one.is_relation]
        made = [one for number in self.numbers for one in self._copied(model, named, number)]
        model._base_manager.bulk_create(made, batch_size=ROWS_AT_ONCE)
        of_each = batched(made, max(1, len(self.rows[model])), strict=False)
        for number, found in zip(self.numbers, of_each, strict=False):
            before = [row.pk for row in self.rows[model]]
            self.pks[model, number] = dict(zip(before, (row.pk for row in found), strict=True))
        return made

    def _copied(self, model: Any, named: Sequence[Any], number: int) -> Iterator[Any]:
        for row in self.rows[model]:
            new = copy.copy(row)
            new._state = copy.copy(row._state)
            new._state.adding, new._state.fields_cache = True, {}
            new.pk = None
            for one in named:
                before = self.pks.get((one.related_model, number), {})
                setattr(new, one.attname, before.get(getattr(row, one.attname)))
            _with_own_ids(new, number)
            yield new


def _with_own_ids(row: Any, number: int) -> None:
    from finishing.models import Company
    from finishing.models.owned import uuid7
    from scheduling.models import CrewPage, FeedLink, PlanRun
    from scheduling.queries.links import secret_digest
    from scheduling.services.link_secrets import new_secret

    row.public_id = uuid7()
    if hasattr(row, "uid"):
        row.uid = uuid4()
    if isinstance(row, Company):
        row.name = f"{row.name}, copy {number + 1}"
    if isinstance(row, PlanRun):
        row.problem, row.progress = {}, []  # megabytes, which no page reads
    if isinstance(row, FeedLink | CrewPage):
        row.secret_sha256 = secret_digest(new_secret(row))
