import json
from pathlib import Path

import pytest

from evenrow import share
from evenrow.errors import InputError

VECTORS = json.loads(
    (Path(__file__).parent.parent / "vectors" / "links.json").read_text(encoding="utf-8")
)


def ids(entry):
    return entry["name"]


@pytest.mark.parametrize("vector", VECTORS["good"], ids=ids)
def test_a_good_link_gives_its_document(vector):
    assert share.decode(vector["fragment"]) == vector["document"]
    address = f"https://farm.example/tools/#{vector['fragment']}"
    assert share.decode(address) == vector["document"]


@pytest.mark.parametrize("vector", VECTORS["good"], ids=ids)
def test_writing_and_reading_gives_the_same_document(vector):
    assert share.decode(share.encode(vector["document"])) == vector["document"]


@pytest.mark.parametrize("vector", VECTORS["bad"], ids=ids)
def test_a_bad_link_is_refused_with_its_reason(vector):
    with pytest.raises(InputError) as caught:
        share.decode(vector["fragment"])
    assert caught.value.code == vector["code"]
    assert caught.value.field == "link"
    assert "<" not in str(caught.value)


def test_an_endless_address_is_refused_at_once():
    with pytest.raises(InputError) as caught:
        share.decode("x" * 1_000_000 + "#design=1.AAAA")
    assert caught.value.code == "link_too_long"


@pytest.mark.parametrize("address", ["", "https://farm.example/#", "a" * 2000 + "#"])
def test_white_space_of_ascii_around_a_link_does_not_matter(address):
    link = address + share.encode({"evenrow": 1})
    assert share.decode(f"\f\r\n\t {link} \t\n\r\f") == {"evenrow": 1}


def test_the_order_of_names_is_kept():
    document = {"b": 1, "a": {"d": "1", "c": "2"}}
    assert json.dumps(share.decode(share.encode(document))) == json.dumps(document)


def test_a_document_that_could_not_be_read_back_is_not_written():
    with pytest.raises(InputError):
        share.encode({"a": {"b": {"c": {"d": {"e": {"f": {}}}}}}})
    with pytest.raises(InputError):
        share.encode({"a": float("nan")})


def test_a_design_too_long_for_a_link_says_what_to_do_instead():
    import hashlib

    noise = [hashlib.sha256(str(i).encode()).hexdigest() for i in range(500)]
    with pytest.raises(InputError) as caught:
        share.encode({"a": noise})
    assert caught.value.code == "link_too_long"
    assert "file" in caught.value.hint
