"""XML from files that nobody vouches for: what is accepted, and what is refused in one line."""

from __future__ import annotations

import io
import zipfile
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.faults import ChartFault, TakeFault
from linecheck.read.safe_xml import MOST_DEPTH, MOST_ENTRIES, parse_xml, read_xml
from tests.read.small_scores import DOCTYPE

CONTAINER = "<container><rootfiles><rootfile full-path='{}'/></rootfiles></container>"


def parsed(text, fault=ChartFault):
    content = text if isinstance(text, bytes) else text.encode()
    return parse_xml(content, fault, "tune.musicxml")


def archive(path, entries, method=zipfile.ZIP_DEFLATED):
    with zipfile.ZipFile(path, "w", method) as made:
        for name, content in entries:
            made.writestr(name, content)
    return path


def test_the_standard_document_type_is_accepted_and_not_fetched():
    # Nothing is listening at that address; an attempt to fetch it would fail or hang.
    root = parsed(f'<?xml version="1.0"?>{DOCTYPE}<score-partwise><part/></score-partwise>')
    assert [child.tag for child in root] == ["part"]


def test_text_is_kept_whole_around_comments():
    assert parsed("<a>B<!-- flat -->b</a>").text == "Bb"


@pytest.mark.parametrize(
    "declaration",
    [
        '<!ENTITY a "x">',
        '<!ENTITY a "x"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">',
        '<!ENTITY a SYSTEM "file:///etc/passwd">',
        '<!ENTITY % a SYSTEM "http://127.0.0.1/a.dtd"> %a;',
    ],
)
def test_declared_entities_are_refused(declaration):
    with pytest.raises(ChartFault, match=r"line 1: declares the entity 'a'; entities are never"):
        parsed(f"<!DOCTYPE s [{declaration}]><s>&c;</s>")


def test_an_entity_that_nobody_declared_is_a_fault():
    with pytest.raises(TakeFault, match="is not well-formed XML: undefined entity"):
        parsed("<s>&nbsp;</s>", TakeFault)


def test_deep_nesting_is_refused():
    deep = "<a>" * (MOST_DEPTH + 1) + "</a>" * (MOST_DEPTH + 1)
    with pytest.raises(ChartFault, match="nested more than 64 deep"):
        parsed(deep)
    assert parsed(deep[3:-4]).tag == "a"
    with pytest.raises(ChartFault, match="nested more than 64 deep"):
        parsed("<a>" * 1_000_000)


def test_truncated_text_names_the_line():
    with pytest.raises(ChartFault, match=r"^tune\.musicxml, line 2: is not well-formed XML: no el"):
        parsed("<score-partwise>\n<part>")


def test_bytes_in_another_encoding_than_declared():
    with pytest.raises(ChartFault, match="its bytes are not in the encoding that it declares"):
        parsed("<a>Müll</a>".encode("latin-1"))
    root = parsed("<?xml version='1.0' encoding='ISO-8859-1'?><a>Müll</a>".encode("latin-1"))
    assert root.text == "Müll"


def test_utf_16_is_read_and_a_false_claim_of_it_is_overruled():
    assert parsed("<?xml version='1.0' encoding='UTF-16'?><a>ü</a>".encode("utf-16")).text == "ü"
    assert parsed("<?xml version='1.0' encoding='UTF-16'?><a>ü</a>".encode()).text == "ü"
    with pytest.raises(ChartFault, match="is not well-formed XML"):
        parsed("<?xml version='1.0' encoding='UTF-16'?><a>ü".encode())


@pytest.mark.parametrize("name", ["no-such", "shift-jis"])
def test_an_unknown_encoding_is_a_fault(name):
    with pytest.raises(ChartFault, match=r"declares an encoding that cannot be read: .*as UTF-8"):
        parsed(f"<?xml version='1.0' encoding='{name}'?><a/>")


def test_a_zip_under_a_plain_name_and_the_reverse(tmp_path):
    file = archive(tmp_path / "tune.musicxml", [("a.xml", "<a/>")])
    with pytest.raises(ChartFault, match=r"is a zip archive, .* is named \.mxl"):
        read_xml(file, ChartFault)
    file = tmp_path / "tune.mxl"
    file.write_text("<score-partwise/>")
    with pytest.raises(ChartFault, match=r"no zip archive; XML text is named \.musicxml"):
        read_xml(file, ChartFault)


def test_the_container_names_the_score(tmp_path):
    entries = [
        ("other.xml", "<other/>"),
        ("META-INF/container.xml", CONTAINER.format("scores/tune.xml")),
        ("scores/tune.xml", "<tune/>"),
    ]
    assert read_xml(archive(tmp_path / "a.mxl", entries), ChartFault).tag == "tune"
    # Without a container, or with one that names nothing, the first score is taken.
    without = archive(tmp_path / "b.mxl", [("cover.png", "x"), ("a.musicxml", "<first/>")])
    assert read_xml(without, ChartFault).tag == "first"
    empty = archive(
        tmp_path / "c.mxl", [("META-INF/container.xml", "<container/>"), ("a.xml", "<first/>")]
    )
    assert read_xml(empty, ChartFault).tag == "first"


@pytest.mark.parametrize("name", ["../tune.xml", "/etc/passwd", "a/../../x.xml", "C:/x.xml", ""])
def test_a_container_cannot_lead_out_of_the_archive(tmp_path, name):
    entries = [("META-INF/container.xml", CONTAINER.format(name)), ("tune.xml", "<tune/>")]
    with pytest.raises(ChartFault, match=r"container\.xml: names a score outside the archive"):
        read_xml(archive(tmp_path / "a.mxl", entries), ChartFault)


def test_archives_without_what_is_needed(tmp_path):
    entries = [("META-INF/container.xml", CONTAINER.format("gone.xml"))]
    with pytest.raises(ChartFault, match=r"names the score 'gone\.xml', which is not there"):
        read_xml(archive(tmp_path / "a.mxl", entries), ChartFault)
    with pytest.raises(ChartFault, match="the archive holds no score"):
        read_xml(archive(tmp_path / "b.mxl", [("cover.png", "x")]), ChartFault)
    many = [(f"{n}.png", "") for n in range(MOST_ENTRIES + 1)]
    with pytest.raises(ChartFault, match="holds more than 1000 entries"):
        read_xml(archive(tmp_path / "c.mxl", many), ChartFault)


def test_a_fault_inside_an_archive_names_the_entry(tmp_path):
    file = archive(tmp_path / "a.mxl", [("tune.xml", "<tune>\n")])
    with pytest.raises(ChartFault, match=r"a\.mxl, tune\.xml, line 2: is not well-formed"):
        read_xml(file, ChartFault)


def test_zip_bombs_are_refused(tmp_path):
    bomb = b"<a>" + b" " * (80 << 20) + b"</a>"
    file = archive(tmp_path / "a.mxl", [("tune.xml", bomb)])
    assert file.stat().st_size < 100_000
    with pytest.raises(ChartFault, match=r"a\.mxl, tune\.xml: unpacks to more than \d+ MiB from"):
        read_xml(file, ChartFault)


def test_a_zip_bomb_that_lies_about_its_size(tmp_path):
    bomb = b"<a>" + b" " * (80 << 20) + b"</a>"
    file = archive(tmp_path / "a.mxl", [("tune.xml", bomb)])
    content = bytearray(file.read_bytes())
    directory = content.index(b"PK\x01\x02")
    content[directory + 24 : directory + 28] = (1000).to_bytes(4, "little")
    file.write_bytes(content)
    # Only as much is unpacked as is declared, and the checksum then fails.
    with pytest.raises(ChartFault, match=r"is not a sound zip archive: Bad CRC"):
        read_xml(file, ChartFault)


def test_damaged_archives(tmp_path):
    file = archive(tmp_path / "a.mxl", [("tune.xml", "<a>" + "x" * 1000 + "</a>")])
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(ChartFault, match=r"is not a sound zip archive: .*it may be cut off"):
        read_xml(file, ChartFault)
    locked = bytearray(whole)
    locked[6] |= 1
    locked[whole.index(b"PK\x01\x02") + 8] |= 1
    file.write_bytes(locked)
    with pytest.raises(ChartFault, match=r"is not a sound zip archive: .*password"):
        read_xml(file, ChartFault)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200))
def test_noise_is_a_fault_of_one_line(noise):
    try:
        parse_xml(noise, ChartFault, "noise.xml")
    except ChartFault as fault:
        assert str(fault).startswith("noise.xml")  # noqa: PT017 - it need not be raised


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_changed_archive_is_read_or_refused(tmp_path_factory, data):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as entries:
        entries.writestr("META-INF/container.xml", CONTAINER.format("tune.xml"))
        entries.writestr("tune.xml", "<tune>" + "<a/>" * 30 + "</tune>")
    content = bytearray(made.getvalue())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content) - 1))
        content[at] = data.draw(st.integers(0, 255))
    file = tmp_path_factory.getbasetemp() / "changed.mxl"
    file.write_bytes(content)
    try:
        assert read_xml(file, TakeFault).tag
    except TakeFault as fault:
        assert str(fault).startswith(str(file))  # noqa: PT017 - it need not be raised
    except zlib.error as error:
        pytest.fail(f"a parser's own error came through: {error}")


def test_more_elements_than_any_score_has(monkeypatch):
    monkeypatch.setattr("linecheck.read.safe_xml.MOST_ELEMENTS", 100)
    assert len(parsed("<a>" + "<b/>" * 99 + "</a>")) == 99
    with pytest.raises(ChartFault, match=r"tune\.musicxml, line 1: more than 100 elements"):
        parsed("<a>" + "<b/>" * 100 + "</a>")
