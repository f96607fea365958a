"""A file of another kind than its name says is told by its first bytes."""

from __future__ import annotations

import io
import re
import time
import zipfile

import pytest

from linecheck.faults import ChartFault, TakeFault
from linecheck.read import CHART_FORMATS, TAKE_FORMATS, read_chart, read_take
from linecheck.read.file_kinds import KINDS, kind_of

A_CHART = "a chart is a TOML, MusicXML or ABC file"
A_TAKE = "a take is a MIDI, MusicXML or ABC file, or a recording"
SCORE = b'<?xml version="1.0"?>\n<!DOCTYPE score-partwise PUBLIC "x">\n<score-partwise/>'


def packed(name: str, content: str = "") -> bytes:
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w") as archive:
        archive.writestr(name, content)
    return whole.getvalue()


@pytest.mark.parametrize(
    ("content", "suffix", "chart", "take"),
    [
        (SCORE, ".abc", "MusicXML, and the file is called .abc; rename it to end in .musicxml", ...),
        (b"\xef\xbb\xbf\n<score-timewise>", ".mid", "MusicXML, and the file is called .mid; rename", ...),
        (packed("META-INF/container.xml"), ".xml", "compressed MusicXML, and the file is called .xml; rename it to end in .mxl", ...),
        (b"%abc-2.1\nX:1", ".toml", "ABC, and the file is called .toml; rename it to end in .abc", ...),
        (b"X:1\nT:a", ".txt", "ABC, and the file is called .txt; rename it to end in .abc", ...),
        (b'# mine\n\ntitle = "x"', ".abc", "a chart in TOML, and the file is called .abc; rename it to end in .toml", f"a chart in TOML; {A_TAKE}"),
        (b"MThd\0\0\0\6", ".toml", f"a MIDI file; {A_CHART}", "a MIDI file, and the file is called .toml; rename it to end in .mid"),
        (b"MThd\0\0\0\6", "", None, "a MIDI file, and the file has no suffix; rename it to end in .mid"),
        (b"RIFF\0\0\0\0RMID", ".wav", None, "a MIDI file, and the file is called .wav"),
        (b"RIFF\0\0\0\0WAVE", ".mid", None, "a WAV recording, and the file is called .mid; rename it to end in .wav"),
        (b"fLaC", ".abc", f"a FLAC recording; {A_CHART}", "a FLAC recording, and the file is called .abc; rename it to end in .flac"),
        (b"OggS", ".mid", None, "an Ogg recording, and the file is called .mid; rename it to end in .ogg"),
        (b"ID3\4", ".mid", None, "an MP3 recording, and the file is called .mid; rename it to end in .mp3"),
        (b"\xff\xfb\x90", ".xml", f"an MP3 recording; {A_CHART}", "an MP3 recording, and the file is called .xml"),
        (b"\0\0\0\x1cftypM4A ", ".wav", None, "an M4A recording, and the file is called .wav; rename it to end in .m4a"),
        (b"\0\0\0\x1cftypisom", ".wav", None, f"a film, or a recording in its format; {A_TAKE}"),
        (b"FORM\0\0\0\0AIFF", ".wav", None, f"an AIFF recording; {A_TAKE}"),
        (b"\0\0\0\x1cftypheic", ".abc", f"a picture; {A_CHART}", f"a picture; {A_TAKE}"),
        (b"\x89PNG\r\n", ".mid", None, f"a picture; {A_TAKE}"),
        (b"\xff\xd8\xff\xe0", ".musicxml", f"a picture; {A_CHART}", f"a picture; {A_TAKE}"),
        (b"%PDF-1.7", ".mid", None, f"a PDF; {A_TAKE}"),
        (b"%PDF-1.7", ".musicxml", f"a PDF; {A_CHART}", f"a PDF; {A_TAKE}"),
        (b"\xd0\xcf\x11\xe0", ".toml", f"a document of an office program; {A_CHART}", None),
        (packed("[Content_Types].xml"), ".mxl", f"a document of an office program; {A_CHART}", f"a document of an office program; {A_TAKE}"),
        (packed("mimetype", "application/vnd.oasis.opendocument.text"), ".toml", f"a document of an office program; {A_CHART}", None),
        (packed("tune.mid"), ".mid", None, f"a zip archive; {A_TAKE}"),
        (b"\x1f\x8b\x08", ".abc", f"an archive; {A_CHART}", f"an archive; {A_TAKE}"),
        (b"\n<!doctype HTML><head>", ".musicxml", f"a web page (it was saved in place of the file); {A_CHART}", ...),
        (b'<?xml version="1.0"?>\n<!DOCTYPE html><html>', ".mid", None, "a web page"),
    ],
)  # fmt: skip
def test_a_file_is_told_by_its_content(tmp_path, content, suffix, chart, take):
    file = tmp_path / f"tune{suffix}"
    file.write_bytes(content)
    for read, fault, said in ((read_chart, ChartFault, chart), (read_take, TakeFault, take)):
        if said is not None:
            # ...: the same as of a chart, but for what is read
            expected = chart.replace(A_CHART, A_TAKE) if said is ... else said
            message = re.escape(f"tune{suffix}: this is {expected}")
            with pytest.raises(fault, match=message):
                read(file)


@pytest.mark.parametrize(
    ("content", "suffix"),
    [
        (b"RIFF\0\0\0\0WAVE", ".mp3"),
        (SCORE, ".xml"),
        (packed("x.musicxml"), ".mxl"),
        (b"?", ".mid"),
    ],
)
def test_what_its_reader_may_make_sense_of_is_left_to_it(tmp_path, content, suffix):
    file = tmp_path / f"take{suffix}"
    file.write_bytes(content)
    with pytest.raises(TakeFault) as caught:
        read_take(file)
    assert "this is" not in str(caught.value)


def test_the_table_names_formats_that_are_read():
    known = {*CHART_FORMATS, *TAKE_FORMATS}
    assert {suffix for kind in KINDS for suffix in kind.suffixes} == known
    assert all(kind.rename in kind.suffixes for kind in KINDS if kind.rename)


@pytest.mark.parametrize("content", [b"# " * 3000, b"<" * 5000, b"\n" * 5000, b"<?xml " * 900])
def test_no_beginning_is_looked_at_for_long(tmp_path, content):
    file = tmp_path / "tune.toml"
    file.write_bytes(content)
    began = time.process_time()
    kind_of(file)
    assert time.process_time() - began < 1
