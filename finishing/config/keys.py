"""The keys of an installation: given by the environment, or made on first use for one that only
this machine reaches."""

import os
import secrets
from dataclasses import dataclass
from pathlib import Path

from finishing.config.reader import Reader

LEAST_CHARACTERS, LEAST_DIFFERENT = 50, 10
_NAMES = {"secret": "SECRET_KEY", "link": "LINK_KEY", "seal": "SEAL_KEY"}  # nosec B105 - names
HOW = "for instance from: python -c 'import secrets; print(secrets.token_urlsafe(48))'"


@dataclass(frozen=True)
class Keys:
    """secret: signs sessions. link: makes secret addresses, a key of its own, so that sessions and
    links change apart. seal: encrypts what has to be had again: webhooks' secrets, passwords of
    calendar servers, keys of second steps. former_link: keys that addresses were made with before,
    so that those can be shown again; what was given out works without them too. former_seal: keys
    that still open what was encrypted with them."""

    secret: str
    link: str
    seal: str
    former_link: tuple[str, ...]
    former_seal: tuple[str, ...]


def keys(reader: Reader, *, var_dir: Path, public: bool) -> Keys:
    """Return the keys. public: others reach this installation; then all have to be given."""
    given = {part: reader.secret(f"COATWEAVE_{name}") for part, name in _NAMES.items()}
    if public:
        _hold_to_account(reader, given)
    elif not reader.faults:
        given |= _own_keys(reader, given, var_dir)
    return Keys(
        **given,
        former_link=tuple(reader.secret("COATWEAVE_FORMER_LINK_KEYS").split()),
        former_seal=tuple(reader.secret("COATWEAVE_FORMER_SEAL_KEYS").split()),
    )


def _hold_to_account(reader: Reader, given: dict[str, str]) -> None:
    """Find keys that are missing, weak, or the same."""
    for part, key in given.items():
        name = f"COATWEAVE_{_NAMES[part]}"
        if any(fault.startswith(name) for fault in reader.faults):
            continue
        if not key:
            reader.faults.append(f"{name} is missing: others reach this installation ({HOW})")
        elif len(key) < LEAST_CHARACTERS or len(set(key)) < LEAST_DIFFERENT:
            reader.faults.append(
                f"{name} is weak: it needs {LEAST_CHARACTERS} characters, "
                f"{LEAST_DIFFERENT} of them different ({HOW})"
            )
        elif list(given.values()).count(key) > 1:
            reader.faults.append(f"{name} is the same as another key")


def _own_keys(reader: Reader, given: dict[str, str], var_dir: Path) -> dict[str, str]:
    """Return the keys of this installation that nobody has given."""
    missing = [part for part, key in given.items() if not key]
    try:
        return {part: _own_key(var_dir / _NAMES[part].lower()) for part in missing}
    except OSError as error:
        why = error.strerror
        reader.faults.append(f"COATWEAVE_VAR: no keys can be kept in {str(var_dir)!r}: {why}")
        return {}


def _own_key(path: Path) -> str:
    """Return the key of this installation, made on first use and readable by its owner only."""
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(secrets.token_urlsafe(48) + "\n")
    return path.read_text(encoding="ascii").splitlines()[0]
