"""Names that people write lead to one entry, or to near names."""

from __future__ import annotations

import pytest

from mci.catalogue.find import (
    UnknownEntryError,
    find_cylinder,
    find_device,
    find_ladder,
    find_machine,
    find_outlet_set,
)
from mci.catalogue.load import load_catalogue


@pytest.mark.parametrize(
    ("text", "region", "key"),
    [
        ("US E aluminium", None, "US E aluminium"),
        ("us  e  Aluminum", None, "US E aluminium"),
        ("US E", None, "US E aluminium"),
        ("US E steel", None, "US E steel"),
        ("E", "US", "US E aluminium"),
        ("E", "UK", "UK E 137 bar"),
        ("E", "AU", "AU E 15 MPa"),
        ("e steel", "US", "US E steel"),
        ("US K", None, "US H steel"),
        ("M15", "US", "US D aluminium"),
        ("UK CD", "US", "UK CD 230 bar"),
    ],
)
def test_cylinders_by_what_people_write(text: str, region: str | None, key: str) -> None:
    """Spacing, case and American spelling do not matter; region and letter alone mean the default."""
    assert find_cylinder(text, region=region).key == key


def test_every_cylinder_is_found_by_its_key() -> None:
    """A key always leads to its own entry, whatever the region given."""
    for key, cylinder in load_catalogue().cylinders.items():
        assert find_cylinder(key) is cylinder
        assert find_cylinder(key, region="US") is cylinder


def test_a_letter_alone_is_refused_without_a_region() -> None:
    """E means 680 L in two countries and 3800 L in another: nobody guesses."""
    with pytest.raises(UnknownEntryError, match="US E aluminium or UK E 137 bar or AU E 15 MPa"):
        find_cylinder("E")


def test_near_names_are_told() -> None:
    """A slip of the pen names what was meant."""
    with pytest.raises(UnknownEntryError, match="US E aluminium"):
        find_cylinder("US E alumnium")
    with pytest.raises(UnknownEntryError, match="non-rebreather"):
        find_device("nonrebreather")
    with pytest.raises(UnknownEntryError, match="the catalogue holds: high need"):
        find_ladder("qqqq")


def test_other_entries_by_name() -> None:
    """Case does not matter."""
    assert find_device("Nasal Cannula").key == "nasal cannula"
    assert find_outlet_set("manifold 6 outlets").outlets == 6
    assert find_machine("concentrator 5 l/min").max_lpm == 5
    assert find_ladder("High Need").rungs[0].flow_lpm == 15
