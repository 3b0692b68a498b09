"""What `evenrow.hydraulics` offers: all there, all documented."""

import inspect

import pytest

from evenrow import hydraulics


def test_everything_public_is_listed_once():
    listed = hydraulics.__all__
    assert len(listed) == len(set(listed))
    found = {
        name
        for name in dir(hydraulics)
        if not name.startswith("_")
        and not inspect.ismodule(getattr(hydraulics, name))
        and name != "annotations"
    }
    assert found == set(listed)


@pytest.mark.parametrize("name", sorted(set(hydraulics.__all__) - {"FRICTION_LAWS"}))
def test_is_documented(name):
    text = inspect.getdoc(getattr(hydraulics, name)) or ""
    # dataclasses without a docstring of their own show their signature
    assert text
    assert not text.startswith(f"{name}(")
    assert "Parameters" in text or "Attributes" in text or "Returns" in text


def test_every_law_names_its_source():
    assert all(law.source for law in hydraulics.FRICTION_LAWS.values())
