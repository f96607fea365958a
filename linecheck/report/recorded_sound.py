"""The recording of a take as a sound that a page can carry: mono MP3 in a data address.

A page is one file that asks nothing of any network, so the sound stands in it. It is brought down
to about 22 kHz, where an hour takes about 20 MB. The times of the page are those of the recording;
MP3 (ISO/IEC 13818-3) is what every browser plays, and its lead-in is told in the file's own tag.
"""

from __future__ import annotations

from base64 import b64encode
from importlib import import_module
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.faults import TakeFault

if TYPE_CHECKING:
    from linecheck.terms import Take

__all__ = ["recorded_sound"]

PAGE_HZ = 20_000  # the least that a rate is brought down to
MP3_RATES = (48_000, 44_100, 32_000, 24_000, 22_050, 16_000, 12_000, 11_025, 8_000)
THRIFT = 0.7  # of the encoder: 48 kbit a second at 22,050 Hz, and a constant rate seeks exactly


def recorded_sound(take: Take) -> str | None:
    """The address of the sound; None where the take is no recording, or it is not there any more.

    The same recording gives the same address, to the byte.
    """
    path = Path(take.source)
    if take.recording is None or not path.is_file():
        return None
    from linecheck.hear.decode import open_recording  # noqa: PLC0415  (only recordings need it)

    made = BytesIO()
    try:
        with open_recording(path, working_hz=PAGE_HZ) as source:
            rate = round(source.rate)
            kind = "MP3" if rate in MP3_RATES and rate == source.rate else "OGG"
            soundfile = import_module("soundfile")
            with soundfile.SoundFile(
                made, "w", rate, 1, format=kind, bitrate_mode="CONSTANT", compression_level=THRIFT
            ) as file:
                for block in source.blocks:
                    file.write(block.sound.clip(-1.0, 1.0))
    except TakeFault:  # it changed or went away since it was heard
        return None
    mime = "audio/mpeg" if kind == "MP3" else "audio/ogg"
    return f"data:{mime};base64,{b64encode(made.getvalue()).decode()}"
