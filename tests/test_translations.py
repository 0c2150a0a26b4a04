"""The Spanish that crews read: whole, compiled, and with every figure where it belongs."""

import ast
import re
from collections.abc import Collection, Iterator
from pathlib import Path

import polib
import pytest
from django.utils import translation

from scheduling import crew_word_wording, wording

ROOT = Path(__file__).resolve().parents[1]
SPANISH = ROOT / "finishing" / "config" / "locale" / "es" / "LC_MESSAGES"
PAGES = ROOT / "api" / "web"
MODULES = (
    "scheduling/cautions_wording.py",
    "scheduling/keep_off_wording.py",
    "scheduling/mail_wording.py",
    "scheduling/measures.py",
    "scheduling/message_wording.py",
    "scheduling/visit_wording.py",
    "scheduling/feed_wording.py",
    "scheduling/services/feed_entries.py",
    "scheduling/services/photos.py",
    "scheduling/services/reports.py",
    "scheduling/services/visit_reports.py",
    "finishing/services/readings.py",
    *(f"api/web/crew_{name}.py" for name in ("access", "day", "forms", "page", "said")),
    "api/web/air_form.py",
    "api/web/air_page.py",
)
"""All that these say, a crew may read."""
FUNCTIONS = {
    "finishing/services/air_limits.py": (),
    "scheduling/dryer_wording.py": ("_move",),
    "scheduling/material_wording.py": ("load_lines", "_load_line", "_amount", "_mix_lines"),
    "scheduling/wording.py": (
        "governs_name",
        "ready_sentence",
        "why_sentence",
        "_wait_words",
        "_other_stage",
        "handover_sentence",
        "lateness",
    ),
}
"""Of these, only what some functions say."""
TEMPLATES = (
    "phone.html",
    *(
        f"crew_{name}.html"
        for name in ("actions", "air", "day", "kept", "news", "refused", "tap", "visit", "way_in")
    ),
)
WORDS = (
    wording._STAGES,
    wording._JOINTS,
    wording._PARTS,
    wording._UNITS,
    wording._TOOLS,
    wording._READINESS,
    wording._AIR,
    crew_word_wording.REASONS,
)
SAME = re.compile(r"(%\(\w+\)s|[\W\d]|\b(m|m²|in|ft|mm|gal|fl|oz|lb|L|ml|kg|g)\b)*")
"""What is the same in both languages: figures, signs and units."""


@pytest.fixture(scope="module")
def spanish() -> dict[str, str]:
    entries = polib.pofile(str(SPANISH / "django.po"))
    return {entry.msgid: entry.msgstr or entry.msgstr_plural[0] for entry in entries}


def texts_of_module(path: str, functions: Collection[str] = ()) -> Iterator[str]:
    """Yield what is marked for translation in a module, or in some of its functions."""
    module = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    parts = [
        part
        for part in module.body
        if not functions or (isinstance(part, ast.FunctionDef) and part.name in functions)
    ]
    for node in (node for part in parts for node in ast.walk(part)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            first = node.args[0] if node.args else None
            said = node.func.id in ("_", "gettext", "gettext_lazy", "gettext_noop", "ngettext")
            if said and isinstance(first, ast.Constant):
                yield str(first.value)


def texts_of_template(name: str) -> Iterator[str]:
    text = (PAGES / "templates" / "web" / name).read_text(encoding="utf-8")
    for _, said in re.findall(r"{% translate (['\"])(.+?)\1 %}", text):
        yield said
    for said in re.findall(
        r"{% blocktranslate [^%]*%}(.+?){% endblocktranslate %}", text, re.DOTALL
    ):
        yield re.sub(r"{{ (\w+) }}", r"%(\1)s", said)


@pytest.mark.parametrize("path", MODULES)
def test_what_a_crew_may_be_told_is_in_spanish(path: str, spanish: dict[str, str]) -> None:
    said = set(texts_of_module(path))
    assert said, "nothing to translate: is the module still the one that speaks?"
    assert said <= spanish.keys()


@pytest.mark.parametrize("path", FUNCTIONS)
def test_what_some_functions_tell_a_crew_is_in_spanish(path: str, spanish: dict[str, str]) -> None:
    said = set(texts_of_module(path, FUNCTIONS[path]))
    assert said
    assert said <= spanish.keys()


def test_what_a_crews_pages_say_is_in_spanish(spanish: dict[str, str]) -> None:
    said = {text for name in TEMPLATES for text in texts_of_template(name)}
    assert len(said) > 40
    assert said <= spanish.keys()


def test_stages_joints_tools_and_readiness_have_spanish_names() -> None:
    english = [str(words[code]) for words in WORDS for code in words]
    with translation.override("es"):
        named = [str(words[code]) for words in WORDS for code in words]
    untold = [one for one, other in zip(english, named, strict=True) if one == other]
    assert untold == ["m", "m²"]


def test_every_text_is_another_in_spanish_and_has_the_same_figures(
    spanish: dict[str, str],
) -> None:
    for english, said in spanish.items():
        assert set(re.findall(r"%\(\w+\)s", said)) == set(re.findall(r"%\(\w+\)s", english))
        assert said != english or SAME.fullmatch(english), english


def test_the_compiled_file_says_what_the_source_says() -> None:
    def entries(catalog: polib._BaseFile) -> set[tuple[str, str, str, str]]:
        return {
            (entry.msgctxt or "", entry.msgid, entry.msgstr, str(entry.msgstr_plural))
            for entry in catalog
        }

    source = entries(polib.pofile(str(SPANISH / "django.po")))
    assert source == entries(polib.mofile(str(SPANISH / "django.mo")))
