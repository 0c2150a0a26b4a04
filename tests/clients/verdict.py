"""The table of programs and publications that a failed comparison is told by."""

from collections import defaultdict
from dataclasses import dataclass, field

from tests.clients.reading import Reading, differences


@dataclass
class Verdict:
    """What each program showed otherwise than planned, by program and publication."""

    faults: dict[str, dict[str, list[str]]] = field(default_factory=lambda: defaultdict(dict))

    def add(
        self, client: str, publication: str, shown: Reading | Exception, planned: Reading
    ) -> None:
        if isinstance(shown, Exception):
            found = [f"{type(shown).__name__}: {shown}"]
        else:
            found = differences(shown, planned)
        self.faults[client][publication] = found

    @property
    def is_good(self) -> bool:
        """Whether all showed everything as planned; nobody asked is nothing shown."""
        return bool(self.faults) and not any(self._lines())

    def __str__(self) -> str:
        heads = [head for by_publication in self.faults.values() for head in by_publication]
        heads = list(dict.fromkeys(heads))
        rows = [["", *heads]]
        for client, found in self.faults.items():
            rows.append([client, *(_cell(found.get(head)) for head in heads)])
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        table = [
            "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
            for row in rows
        ]
        return "\n".join(["", *table, "", *self._lines()])

    def _lines(self) -> list[str]:
        return [
            f"{client}, {publication}: {fault}"
            for client, by_publication in self.faults.items()
            for publication, found in by_publication.items()
            for fault in found
        ]


def _cell(found: list[str] | None) -> str:
    if found is None:
        return "not asked"
    return f"{len(found)} differ" if found else "as planned"
