"""Renders through a sound font, for tests that hear them; skipped loudly where none can be made."""

from __future__ import annotations

import pytest

from tests.synthetic.recordings import FONTS, can_render


@pytest.fixture(scope="session")
def font():
    """A font that can be rendered here."""
    for name in FONTS:
        if can_render(name):
            return name
    packages = " or ".join(package for _, package in FONTS.values())
    pytest.skip(f"FluidSynth or a sound font is missing: apt-get install fluidsynth {packages}")
