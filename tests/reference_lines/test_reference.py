"""What reference lines do, the file that says it, and a line read against it."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from pathlib import Path

import mido
import numpy as np
import pytest
from scipy.stats import betabinom

import linecheck
from linecheck import command_line
from linecheck.demo import demo_take, demo_takes
from linecheck.faults import ChartFault, OptionFault, ReferenceFault, TakeFault
from linecheck.judge.reference import against_reference, count_functions
from linecheck.label import label_line
from linecheck.music.form import Form
from linecheck.reference_lines import profile_of_audits, reference
from linecheck.report.reference_as_json import reading_as_data, write_reference_json
from linecheck.report.reference_as_terminal import reference_page
from linecheck.report.reference_in_words import reading_sentences
from linecheck.share_interval import strays
from linecheck.terms import FUNCTIONS
from tests.label_lines import chart_of, label
from tests.measure_reference import Walked

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
DEMO_CHARTS = Path(__file__).parents[2] / "demo_tunes/charts"
CHART = chart_of("| F7 | Gm7 C7 |")


@pytest.fixture(scope="module")
def audits():
    return {take.name: linecheck.audit(take.chart, take.take) for take in demo_takes()}


@pytest.fixture(scope="module")
def profile(audits):
    return profile_of_audits([audits[name] for name in ("mira", "juno", "wen", "idris")])


# ---- counting --------------------------------------------------------------------------------


def test_counts_by_hand():
    line = label("F2 A2 C3 F#2 G2 Bb2 C3 Bb2", CHART)
    counts = count_functions(line, CHART)
    told = {
        (by, name): {f: n for f, n in count.functions.items() if n}
        for (_, by, name), count in counts.items()
    }
    assert told == {
        ("beat", "4/4 beat 1"): {"root": 2},
        ("beat", "4/4 beat 2"): {"third": 2},
        ("beat", "4/4 beat 3"): {"fifth": 1, "root": 1},
        ("beat", "4/4 beat 4"): {"approach": 1, "seventh": 1},
        ("chord type", "dominant"): {
            "root": 2, "third": 1, "fifth": 1, "approach": 1, "seventh": 1,
        },
        ("chord type", "minor-seventh"): {"root": 1, "third": 1},
    }  # fmt: skip


def test_what_stands_off_the_beat_has_a_place_of_its_own(audits):
    counts = count_functions(audits["juno"].labels, audits["juno"].chart)
    off = counts["solo", "beat", "4/4 off the beat"]
    assert off.notes > 40
    assert off.choruses == {2, 3}


def test_a_profile_adds_its_takes_up(audits, profile):
    assert profile.takes == 4
    by_beat = [row for row in profile.shares if row.by == "beat"]
    assert sum(row.notes for row in by_beat) == profile.notes
    assert {row.style for row in profile.shares} == {"walking", "solo"}
    for row in profile.shares:
        assert sum(row.shares.values()) == pytest.approx(1)
        assert all(0 < row.spreads[f] <= 0.5 for f in FUNCTIONS)
    one = next(row for row in profile.shares if row.name == "4/4 beat 1" and row.style == "walking")
    assert one.takes == 4
    landed = [
        note.function
        for name in ("mira", "juno", "wen", "idris")
        for note in audits[name].labels.notes
        if note.function and note.place.beat == 1
        and 0 < note.place.chorus <= len(audits[name].labels.styles)
        and audits[name].labels.styles[note.place.chorus - 1] == "walking"
    ]  # fmt: skip
    assert one.shares["root"] == pytest.approx(landed.count("root") / len(landed))


def test_takes_without_a_note_make_no_profile():
    with pytest.raises(ReferenceFault, match="no walking or solo chorus"):
        profile_of_audits([])


# ---- chance ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("shown", "asked"), [(0, 20), (7, 20), (20, 20), (55, 90)])
@pytest.mark.parametrize(("mean", "spread"), [(0.3, 0.1), (0.7, 0.15), (0.5, 0.05)])
def test_how_far_a_count_strays_is_what_scipy_says(shown, asked, mean, spread):
    """scipy.stats.betabinom with the same mean and spread."""
    low, high, chance = strays(shown, asked, mean, spread)
    precision = mean * (1 - mean) / spread**2 - 1
    law = betabinom(asked, mean * precision, (1 - mean) * precision)
    middle = law.cdf(shown - 1) + law.pmf(shown) / 2
    assert chance == pytest.approx(min(1, 2 * min(middle, 1 - middle)), abs=1e-6)
    assert (low * asked, high * asked) == pytest.approx((law.ppf(0.025), law.ppf(0.975)))


def test_a_line_like_the_reference_does_not_differ_and_one_of_roots_and_fifths_does():
    rng = np.random.default_rng(2)
    made = profile_of_audits([Walked(rng, "plain") for _ in range(10)])
    like, unlike = Walked(rng, "plain"), Walked(rng, "root_fifth")
    assert not any(x.differs for x in against_reference(like.labels, like.chart, made).differences)
    found = [
        x for x in against_reference(unlike.labels, unlike.chart, made).differences if x.differs
    ]
    assert {x.function for x in found} >= {"fifth"}
    assert all(not x.low <= x.share <= x.high for x in found)


def test_transposing_a_line_and_its_chart_changes_no_difference(profile):
    plain, moved = chart_of("| F7 | Gm7 C7 |"), chart_of("| Ab7 | Bbm7 Eb7 |")
    line = "F2 A2 C3 F#2 G2 Bb2 C3 Bb2 " * 4
    one = label(line, plain, 4)
    notes = tuple(replace(n, pitch=n.pitch + 3) for n in _placed(line))
    other = label_line(_line(notes, moved), Form(moved, 4), moved.key)
    assert (
        against_reference(other, moved, profile).differences
        == against_reference(one, plain, profile).differences
    )


def _placed(line):
    from tests.label_lines import notes_of

    return notes_of(line)


def _line(notes, chart):
    from tests.label_lines import line_of

    return line_of(notes, chart, 4)


def test_a_reference_of_other_tunes_says_what_it_passes_over(audits, profile):
    found = against_reference(audits["bram"].labels, audits["bram"].chart, profile)
    assert "walking, 3/4 beat 1" in found.passed_over
    assert "the reference says nothing of: walking, 3/4 beat 1" in reading_sentences(found)[-1]


def test_no_score_changes(audits, profile):
    take = demo_take("oskar")
    found = linecheck.audit(take.chart, take.take, reference=profile)
    assert found.judgement == audits["oskar"].judgement
    assert found.reference is not None
    assert audits["oskar"].reference is None


# ---- the file --------------------------------------------------------------------------------


def test_a_profile_comes_back_from_its_file(profile, tmp_path):
    file = tmp_path / "good.json"
    file.write_text(write_reference_json(profile), encoding="utf-8")
    read = linecheck.read_reference(file)
    assert (read.takes, read.choruses, read.notes) == (
        profile.takes, profile.choruses, profile.notes,
    )  # fmt: skip
    for row, kept in zip(read.shares, profile.shares, strict=True):
        assert (row.style, row.by, row.name, row.notes) == (
            kept.style, kept.by, kept.name, kept.notes,
        )  # fmt: skip
        assert row.shares == pytest.approx(kept.shares, abs=1e-4)
        assert row.means == pytest.approx(kept.means, abs=1e-4)
        assert row.spreads == pytest.approx(kept.spreads, abs=1e-4)
    assert "mira" not in file.read_text("utf-8")


def broken(data, path, value):
    for key in path[:-1]:
        data = data[key]
    data[path[-1]] = value


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (["schema"], 2, "schema is 2; expected 1"),
        (["extra"], 1, "unknown key 'extra'"),
        (["takes"], 0, "takes is 0; expected a whole number, 1 or more"),
        (["shares", 0, "style"], "mixd", "entry 1: style is 'mixd'; expected walking, solo or mixed"),
        (["shares", 0, "by"], "bar", "by is 'bar'; expected beat or chord type"),
        (["shares", 0, "functions", "rot"], {}, "unknown key 'rot'.*did you mean root"),
        (["shares", 0, "functions", "root", "share"], 1.5, "root: share is 1.5; expected a number from 0 to 1"),
        (["shares", 0, "functions", "root"], {"share": 1, "mean": 1}, "spread is missing"),
        (["shares", 0], 3, "entry 1: is 3; expected a table"),
        (["shares"], {}, "is no reference profile"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_profile_is_refused(profile, tmp_path, path, value, said):
    data = json.loads(write_reference_json(profile))
    broken(data, path, value)
    file = tmp_path / "good.json"
    file.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(ReferenceFault, match=said):
        linecheck.read_reference(file)


def test_a_file_that_is_no_json_is_refused(tmp_path):
    file = tmp_path / "good.json"
    file.write_text("{", encoding="utf-8")
    with pytest.raises(ReferenceFault, match="has written: not valid JSON"):
        linecheck.read_reference(file)


def test_the_keys_of_the_profile_are_in_the_readme(profile):
    part = README.partition("<!-- keys of the profile -->")[2].partition("\n\n")[0]
    data = json.loads(write_reference_json(profile))
    told = set(re.findall(r"`(\w+)`", part))
    assert told | set(FUNCTIONS) == keys_below(data)


def test_the_keys_of_a_reading_are_in_the_readme(audits, profile):
    part = README.partition("In the JSON of an audit, `reference`")[2].partition("\n\n")[0]
    found = against_reference(audits["oskar"].labels, audits["oskar"].chart, profile)
    assert set(re.findall(r"`(\w+)`", part)) == keys_below(reading_as_data(found))


def keys_below(value) -> set[str]:
    if isinstance(value, dict):
        return set(value).union(*map(keys_below, value.values()))
    if isinstance(value, list):
        return set().union(*map(keys_below, value))
    return set()


def test_the_page_fits_a_terminal(profile):
    text = reference_page(profile).as_text()
    assert max(map(len, text.splitlines())) <= 80
    assert "Walking, by chord type" in text
    assert re.search(r"  4/4 beat 1: \d+ notes of 4 takes; 4/4 beat 2: ", text)


# ---- finding takes ---------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path):
    for name in ("mira", "wen"):
        take = demo_take(name)
        shutil.copy(take.take, tmp_path / f"{name}.mid")
        shutil.copy(take.chart, tmp_path / f"{name}.toml")
    return tmp_path


def test_the_takes_of_a_folder_have_their_charts_beside_them(folder):
    made = reference([folder])
    assert (made.takes, made.warnings) == (2, ())
    assert made.shares == reference([folder / "mira.mid", folder, folder / "wen.mid"]).shares


def test_a_chart_is_called_like_a_take_as_in_a_class_folder(folder):
    made = reference([folder])
    (folder / "mira.mid").rename(folder / "MIRA, take 2.mid")
    (folder / "wen.mid").rename(folder / "attic - Wen.mid")
    again = reference([folder])
    assert (again.shares, again.warnings) == (made.shares, ())


def test_a_broken_take_of_a_folder_is_left_out_and_said(folder):
    (folder / "odd.mid").write_bytes(b"no midi")
    shutil.copy(folder / "mira.toml", folder / "odd.toml")
    (folder / "loose.mid").write_bytes(b"")
    made = reference([folder])
    assert made.takes == 2
    assert len(made.warnings) == 2
    meant = "loose.mid: any of 3 charts may be meant: mira.toml, odd.toml, wen.toml; begin the name"
    assert meant in made.warnings[0]
    assert "odd.mid" in made.warnings[1]
    with pytest.raises(TakeFault, match=r"odd\.mid"):
        reference([folder / "odd.mid"])


def test_the_only_written_file_of_a_folder_is_the_chart_of_its_takes(folder):
    (folder / "mira.toml").unlink()
    (folder / "wen.toml").unlink()
    for name, player in (("mira", "edda"), ("wen", "ruben")):
        shutil.copy(demo_take(player).take, folder / f"{name}.mid")
    written = DEMO_CHARTS / "lamp_oil.abc"
    shutil.copy(written, folder / "blues.abc")
    made = reference([folder])
    assert made.shares == reference([folder / "mira.mid", folder / "wen.mid"], chart=written).shares
    assert len(made.warnings) == 1
    assert made.warnings[0].endswith("blues.abc: read as the chart of the other takes")
    # One in a folder above, where a take lies with one nearer to it, is a take itself.
    (folder / "class").mkdir()
    for name in ("mira.mid", "wen.mid", "blues.abc"):
        shutil.move(folder / name, folder / "class" / name)
    shutil.copy(written, folder / "hymn.abc")
    below = reference([folder])
    assert below.shares == made.shares
    assert [w.partition("abc: ")[2] for w in below.warnings] == [
        "read as the chart of the other takes",
        "it holds no notes",
    ]
    shutil.copytree(folder / "class", folder, dirs_exist_ok=True)
    shutil.rmtree(folder / "class")
    (folder / "hymn.abc").unlink()
    # Two may both be takes: nothing is guessed.
    shutil.copy(folder / "blues.abc", folder / "ballad.abc")
    for written in ("blues.abc", "ballad.abc"):
        _lead_sheet(folder / written)
    guessed_nothing = reference([folder])
    assert [w.partition("mid: ")[2] for w in guessed_nothing.warnings[:-1]] == [
        f"no chart was found; {name}.toml was expected, or --chart for all takes"
        for name in ("mira", "wen")
    ]
    assert guessed_nothing.warnings[-1] == "2 takes were read over their own chord symbols"


LINE = """X:1
T:Exercise
M:4/4
L:1/4
K:F bass
"F7" F, A, C ^F, | "Gm7" G, _B, "C7" C E | "F7" F A, C =E, | "Bb7" _B, D F ^F, |]
"""


def _lead_sheet(path):
    """A written line that holds its chord symbols."""
    path.unlink(missing_ok=True)
    path.with_suffix(".abc").write_text(LINE, encoding="utf-8")
    return path.with_suffix(".abc")


def test_written_lines_are_read_over_their_own_chord_symbols(tmp_path):
    files = [_lead_sheet(tmp_path / f"ex{number}.abc") for number in (1, 2, 3)]
    made = reference(tmp_path)
    assert made.shares == profile_of_audits([linecheck.audit(f, f) for f in files]).shares
    assert made.warnings == ("3 takes were read over their own chord symbols",)
    assert "3 takes were read over" in reference_page(made).as_text()
    alone = reference(str(files[0]))
    assert alone.warnings == ("1 take was read over its own chord symbols",)
    # Another chart, by its name or for all, comes first.
    other = LINE.replace('"F7"', '"Fmaj7"')
    files[0].with_suffix(".toml").write_text(
        'title = "Other"\nkey = "F"\nform = ["A"]\n[sections]\n'
        'A = "| Fmaj7 | Gm7 C7 | Fmaj7 | Bb7 |"\n',
        encoding="utf-8",
    )
    (tmp_path / "apart").mkdir()
    chart = tmp_path / "apart" / "all.abc"
    chart.write_text(other, encoding="utf-8")
    assert reference(files[0]).warnings == reference(files, chart=chart).warnings == ()
    assert "major-seventh" in {row.name for row in reference(files[0]).shares}


def test_a_written_line_without_chord_symbols_says_what_was_looked_for(tmp_path):
    file = _lead_sheet(tmp_path / "ex1.abc")
    file.write_text(re.sub('"[^"]*"', "", LINE), encoding="utf-8")
    said = (
        r"ex1\.abc: it holds no chord symbols, and a chart needs them; no other chart of it was "
        r"found: ex1\.toml was expected, or --chart for all takes"
    )
    with pytest.raises(ChartFault, match=said):
        reference([file])
    with pytest.raises(ReferenceFault, match=f"the first is left out: .*{said}"):
        reference([tmp_path])
    with pytest.raises(ChartFault, match=r"ex2\.abc: no such file$"):
        reference([tmp_path / "ex2.abc"])


def test_one_line_in_two_formats_is_no_chart_of_itself(tmp_path):
    _lead_sheet(tmp_path / "ex1.abc")
    shutil.copy(DEMO_CHARTS / "slow_ferry.musicxml", tmp_path / "ex1.musicxml")
    with pytest.raises(ReferenceFault, match=r"it and ex1\.musicxml may each be the chart of the"):
        reference([tmp_path])


def test_a_take_without_a_walking_or_solo_chorus_is_named(tmp_path):
    files = [_lead_sheet(tmp_path / f"ex{number}.abc") for number in (1, 2)]
    walked, run = "F, A, C A, | " * 4, "F,/G,/A,/C/ D/C/A,/F,/ | " * 4
    files[1].write_text(LINE.partition('"F7"')[0] + f'"F7" {walked}{run}]')
    made = reference([tmp_path])
    assert made.takes == 1
    assert made.warnings == (
        f"left out: {files[1]}: it has no walking or solo chorus",
        "1 take was read over its own chord symbols",
    )


def test_a_folder_of_nothing_but_broken_takes_is_refused_with_the_first(tmp_path):
    (tmp_path / "odd.mid").write_bytes(b"no midi")
    shutil.copy(demo_take("mira").chart, tmp_path / "odd.toml")
    with pytest.raises(ReferenceFault, match=r"no take can be used; the first is left out"):
        reference([tmp_path])


def test_a_take_without_a_chart_and_a_folder_without_takes_are_refused(folder, tmp_path):
    with pytest.raises(ReferenceFault, match=r"mira\.mid: has no chart beside it; mira\.toml was"):
        reference([shutil.copy(folder / "mira.mid", _made(tmp_path / "alone"))])
    with pytest.raises(ReferenceFault, match="holds no take; takes with their charts"):
        reference([_made(tmp_path / "empty")])
    with pytest.raises(ReferenceFault, match=r"mira\.mid: no chart was found; mira\.toml was"):
        reference([tmp_path / "alone"])


@pytest.mark.parametrize(
    "where", ["charts/blues.toml", "blues.toml", "teacher/Charts/mira.toml", "teacher/mira.toml"]
)
def test_the_chart_of_a_take_in_a_folder_may_lie_apart(tmp_path, where):
    demo = demo_take("mira")
    take, chart = tmp_path / "teacher/mira.mid", tmp_path / where
    for source, target in ((demo.take, take), (demo.chart, chart)):
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(source, target)
    (tmp_path / "rubric.toml").write_text("[weights]\nlandings = 1\n")
    made = reference([tmp_path])
    assert made.shares == reference([take], chart=chart).shares
    assert not made.warnings


def test_a_written_chart_in_a_folder_of_charts_is_no_take(tmp_path):
    demo = demo_take("mira")
    shutil.copy(demo.take, tmp_path / "mira.mid")
    _made(tmp_path / "charts")
    shutil.copy(demo.chart, tmp_path / "charts" / "mira.toml")
    (tmp_path / "charts" / "mira_two.abc").write_text("X:1")
    (tmp_path / "charts" / "rubric.toml").write_text("[weights]\nlandings = 1\n")
    (tmp_path / ".hidden.mid").write_bytes(b"")
    _made(tmp_path / ".trash")
    (tmp_path / ".trash" / "old.mid").write_bytes(b"")
    made = reference([tmp_path])
    assert (made.takes, made.warnings) == (1, ())


def test_a_folder_that_is_named_may_be_called_charts(folder):
    assert reference([folder.rename(folder.with_name("charts"))]).takes == 2


def _made(path):
    path.mkdir()
    return path


# ---- the commands ----------------------------------------------------------------------------


def test_a_profile_is_written_and_a_line_read_against_it(tmp_path, capsys):
    mira, oskar = demo_take("mira"), demo_take("oskar")
    file = tmp_path / "good.json"
    chart = str(mira.chart)
    assert command_line.run(
        ["reference", str(mira.take), "--chart", chart, "--json", str(file)]
    ) == 0  # fmt: skip
    assert "Reference lines: 1 take, 3 choruses" in capsys.readouterr().out
    status = command_line.run(
        ["audit", chart, str(oskar.take), "--reference", str(file), "--json", str(tmp_path / "a.json"),
         "--html", str(tmp_path / "a.html")]
    )  # fmt: skip
    assert status == 0
    out = capsys.readouterr().out
    assert "Against the reference\n  - the reference: 1 take, 3 choruses, 144 notes\n" in out
    assert json.loads((tmp_path / "a.json").read_text("utf-8"))["reference"]["takes"] == 1
    assert "Against the reference" in (tmp_path / "a.html").read_text("utf-8")


def test_faults_of_the_command_are_one_line(tmp_path, capsys):
    assert command_line.run(["reference", str(tmp_path / "no.mid")]) == 2
    assert command_line.run(["reference", str(demo_take("mira").take)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 2
    assert "has no chart beside it; tollgate_mira.toml was expected" in err


# ---- keys ------------------------------------------------------------------------------------


def _moved(take: Path, file: Path, half_steps: int) -> Path:
    midi = mido.MidiFile(take)
    for track in midi.tracks:
        for message in track:
            if message.type in ("note_on", "note_off"):
                message.note += half_steps
    midi.save(file)
    return file


def test_a_take_in_another_key_is_left_out_and_read_by_its_key(tmp_path):
    own = demo_take("tomasz")
    higher = _moved(own.take, tmp_path / "higher.mid", 3)
    made = reference([own.take, higher], chart=own.chart)
    assert made.takes == 1
    (warning,) = made.warnings
    assert warning.startswith(f"left out: {higher}: ")
    assert "in Bb (--key Bb): is the key right?" in warning
    with pytest.raises(ReferenceFault, match=r"no take can be used; .*\(--key Bb\)"):
        reference(higher, chart=own.chart)
    in_its_key = reference(higher, chart=own.chart, key="Bb")
    assert (in_its_key.warnings, in_its_key.shares) == ((), made.shares)
    # Also where the chart is found beside the take.
    shutil.copy(own.chart, tmp_path / "higher.toml")
    assert reference(tmp_path, key="Bb").shares == made.shares
    with pytest.raises(OptionFault, match="name a key of the same mode"):
        reference(higher, chart=own.chart, key="Bbm")


def test_the_command_takes_a_key(tmp_path, capsys):
    own = demo_take("tomasz")
    higher = _moved(own.take, tmp_path / "higher.mid", 3)
    options = ["reference", str(higher), "--chart", str(own.chart)]
    assert command_line.run(options) == 2
    assert "--key Bb" in capsys.readouterr().err
    assert command_line.run([*options, "--key", "Bb"]) == 0
    assert "Reference lines: 1 take," in capsys.readouterr().out
