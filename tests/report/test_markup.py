from __future__ import annotations

import xml.etree.ElementTree as ET

from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.report.markup import Safe, element, number


def test_attributes_are_named_as_svg_names_them():
    made = element("rect", x=1.0, stroke_width=2.345, class_="a", fill=None)
    assert made == '<rect x="1" stroke-width="2.35" class="a"/>'


def test_numbers_have_no_tail_and_no_minus_zero():
    assert [number(v) for v in (12.5, 3.0, -0.001, 100.0, 0.126)] == [
        "12.5",
        "3",
        "0",
        "100",
        "0.13",
    ]


@settings(max_examples=100, deadline=None)
@given(st.text(), st.text())
def test_any_text_comes_back_as_text(inside, value):
    parsed = ET.fromstring(element("g", element("t", inside), name=value))
    kept = [c for c in inside if c in "\t\n\r" or (c >= " " and c not in "\ufffe\uffff")]
    assert len(parsed) == 1
    assert (parsed[0].text or "").split() == "".join(
        c for c in kept if not "\ud800" <= c <= "\udfff"
    ).split()
    assert set(parsed.attrib) == {"name"}


def test_only_markup_that_says_so_is_trusted():
    assert element("g", "<b>") == "<g>&lt;b&gt;</g>"
    assert element("g", Safe("<b/>")) == "<g><b/></g>"
