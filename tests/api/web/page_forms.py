"""What a browser sends of a form of which nobody has touched anything."""

from html.parser import HTMLParser

from django.test import Client


def _is_sent(said: dict[str, str]) -> bool:
    return said.get("type") not in {"checkbox", "radio"} or "checked" in said


class _Fields(HTMLParser):
    """The fields of the forms of a page, by the form's address; and all that each could be."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: dict[str, dict[str, list[str]]] = {}
        self.offered: dict[str, dict[str, list[str]]] = {}
        self._sent: dict[str, list[str]] = {}
        self._offered: dict[str, list[str]] = {}
        self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        name = said.get("name", "")
        if tag == "form":
            self._sent = self.forms.setdefault(said.get("action", ""), {})
            self._offered = self.offered.setdefault(said.get("action", ""), {})
        elif tag == "select":
            self._select = name
        elif tag == "option" and self._select:
            self._offered.setdefault(self._select, []).append(said.get("value", ""))
            if "selected" in said or self._select not in self._sent:
                self._sent[self._select] = [said.get("value", "")]
        elif tag == "input" and name and _is_sent(said):
            self._sent.setdefault(name, []).append(
                said.get("value", "on" if said.get("type") == "checkbox" else "")
            )

        if tag == "input" and name:
            self._offered.setdefault(name, []).append(said.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self._select = ""


def form_on(client: Client, page: str, action: str | None = None) -> dict[str, list[str]]:
    """Return what the form with this address sends; action: None for the address of the page."""
    return fields_in(client.get(page).content.decode(), page if action is None else action)


def fields_in(text: str, action: str) -> dict[str, list[str]]:
    """Return what the form with this address sends, of a page that was answered."""
    fields = _Fields()
    fields.feed(text)
    return fields.forms[action]


def forms_in(text: str) -> list[tuple[str, dict[str, list[str]], dict[str, list[str]]]]:
    """Return of each form its address, what it sends untouched, and all that each field could
    be."""
    fields = _Fields()
    fields.feed(text)
    return [(action, sent, fields.offered[action]) for action, sent in fields.forms.items()]
