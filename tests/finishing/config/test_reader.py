"""Variables of the environment, each read as what it is to be."""

from pathlib import Path

import pytest

from finishing.config.reader import Reader, WholeNumber

MINUTES = WholeNumber(default=60, least=0, most=100)


@pytest.mark.parametrize(
    ("given", "minutes"),
    [({}, 60), ({"MINUTES": ""}, 60), ({"MINUTES": " 0 "}, 0), ({"MINUTES": "100"}, 100)],
)
def test_numbers_set_and_not(given: dict[str, str], minutes: int) -> None:
    reader = Reader(given)
    assert reader.number("MINUTES", MINUTES) == minutes
    assert reader.faults == []


@pytest.mark.parametrize("text", ["abc", "1.5", "-1", "101", "1_0", "9" * 5000, "²", "0x1"])
def test_what_is_no_number_in_the_limits_is_a_fault(text: str) -> None:
    reader = Reader({"MINUTES": text})
    assert reader.number("MINUTES", MINUTES) == MINUTES.default
    assert reader.faults == [f"MINUTES: {text[:40]!r} is not a whole number from 0 to 100"]


@pytest.mark.parametrize(("text", "on"), [("1", True), ("yes", True), ("0", False), ("", False)])
def test_flags(text: str, on: bool) -> None:
    reader = Reader({"FLAG": text})
    assert reader.flag("FLAG") is on
    assert reader.faults == []


def test_all_faults_are_one_line() -> None:
    reader = Reader({"FLAG": "maybe", "WAY": "ssl"})
    reader.flag("FLAG")
    assert reader.choice("WAY", ("starttls", "tls")) == "starttls"
    with pytest.raises(
        SystemExit, match=r"^FLAG: 'maybe' is neither 1 nor 0; WAY: 'ssl' is not one of starttls"
    ):
        reader.end_where_wrong()


def test_a_secret_comes_from_a_file(tmp_path: Path) -> None:
    file = tmp_path / "key"
    file.write_text("from a file\n", encoding="utf-8")
    assert Reader({"KEY_FILE": str(file)}).secret("KEY") == "from a file"
    assert Reader({"KEY": "itself"}).secret("KEY") == "itself"


def test_a_secret_that_cannot_be_had_is_a_fault_that_does_not_show_it(tmp_path: Path) -> None:
    (tmp_path / "bytes").write_bytes(b"\xff\xfe")
    reader = Reader(
        {
            "A": "hidden",
            "A_FILE": str(tmp_path / "bytes"),
            "B_FILE": str(tmp_path / "none"),
            "C_FILE": str(tmp_path / "bytes"),
        }
    )
    assert [reader.secret(name) for name in "ABC"] == ["", "", ""]
    assert reader.faults == [
        "A and A_FILE are both set",
        f"B_FILE: '{tmp_path}/none' cannot be read: No such file or directory",
        f"C_FILE: '{tmp_path}/bytes' cannot be read: it is no text",
    ]
