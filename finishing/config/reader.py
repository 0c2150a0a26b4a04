"""Reads what the environment sets, and gathers all that is wrong with it."""

import re
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import NamedTuple
from urllib.parse import urlsplit

_FLAGS = {"": None, "1": True, "yes": True, "true": True, "0": False, "no": False, "false": False}


class WholeNumber(NamedTuple):
    """What a setting is when nobody sets it, and the least and most that it may be."""

    default: int
    least: int
    most: int


def is_address(text: str, *schemes: str) -> bool:
    """Return whether a text is an address by one of the schemes, at a host."""
    try:
        parts = urlsplit(text)
        return parts.scheme in schemes and bool(parts.hostname) and parts.port != 0
    except ValueError:  # of the host, or of the port
        return False


class Reader:
    """Reads variables, each as what it is to be. A wrong one has its default and is a fault."""

    def __init__(self, environment: Mapping[str, str]) -> None:
        self._environment = environment
        self.faults: list[str] = []

    def text(self, name: str, default: str = "") -> str:
        """Return a variable without the blanks around it."""
        return self._environment.get(name, "").strip() or default

    def words(self, name: str, default: str = "") -> tuple[str, ...]:
        """Return what a variable lists, with commas or spaces between."""
        return tuple(self.text(name, default).replace(",", " ").split())

    def secret(self, name: str) -> str:
        """Return what a variable says, or the file that ``NAME_FILE`` names: it is in no list of
        processes and in no dump of the environment. What is wrong with it never shows it."""
        path = self.text(f"{name}_FILE")
        if not path:
            return self.text(name)
        if self.text(name):
            self.faults.append(f"{name} and {name}_FILE are both set")
            return ""
        try:
            return Path(path).read_text(encoding="utf-8").strip()
        except (OSError, UnicodeDecodeError) as error:
            why = error.strerror if isinstance(error, OSError) else "it is no text"
            self.faults.append(f"{name}_FILE: {path[:200]!r} cannot be read: {why}")
            return ""

    def address(self, name: str, *schemes: str, secret: bool = False) -> str:
        """Return an address; one by none of the schemes is a fault, which does not show it."""
        text = self.secret(name) if secret else self.text(name)
        if text and not is_address(text, *schemes):
            ways = " or ".join(f"{scheme}://" for scheme in schemes)
            self.faults.append(f"{name} is not an address that begins with {ways}")
        return text

    def file(self, name: str) -> str:
        """Return the path of a file that is to be there."""
        text = self.text(name)
        try:
            found = not text or Path(text).is_file()
        except OSError:  # it may not be looked at, or is too long for a path
            found = False
        if not found:
            self.faults.append(f"{name}: {text[:200]!r} is not a file")
        return text

    def flag(self, name: str) -> bool:
        """Return whether something is switched on; it is not unless said."""
        text = self.text(name).lower()
        if text not in _FLAGS:
            self.faults.append(f"{name}: {text[:40]!r} is neither 1 nor 0")
        return bool(_FLAGS.get(text))

    def choice(self, name: str, choices: Collection[str]) -> str:
        """Return one of the choices, the first unless another is set."""
        text = self.text(name)
        if text and text not in choices:
            self.faults.append(f"{name}: {text[:40]!r} is not one of {', '.join(choices)}")
        return text if text in choices else next(iter(choices))

    def number(self, name: str, number: WholeNumber) -> int:
        """Return a whole number within its limits."""
        text = self.text(name)
        value = int(text) if re.fullmatch(r"[0-9]{1,12}", text) else None
        if value is not None and number.least <= value <= number.most:
            return value
        if text:
            limits = f"a whole number from {number.least} to {number.most}"
            self.faults.append(f"{name}: {text[:40]!r} is not {limits}")
        return number.default

    def end_where_wrong(self) -> None:
        """Raise SystemExit with all faults in one line: whatever reads the settings, a command, a
        web server or a worker, ends with that line, where any other exception would print a
        traceback."""
        if self.faults:
            raise SystemExit("; ".join(self.faults))
