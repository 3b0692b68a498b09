"""The poster of a design: a code that opens it, and what stands around."""

import json
import re

import numpy as np
import pytest
import zxingcpp

from evenrow import share
from evenrow.calculators import poster, web
from evenrow.calculators.reading import carried, default_document
from evenrow.calculators.registry import CALCULATORS
from evenrow.calculators.sheet.code import MOST, QUIET
from evenrow.errors import InputError, InputErrors

WHOLE = CALCULATORS["whole-field"]
ADDRESS = "https://coop.example.org/drip/whole-field/"


@pytest.fixture
def document():
    return {**default_document(WHOLE, "metric"), "name": "Upper <field>"}


def link_of(document):
    return f"{ADDRESS}#{share.encode(carried(WHOLE, document))}"


def read_back(svg):
    """Return the text of a drawn code by a reader that is not ours."""
    size = int(re.search(r'viewBox="0 0 (\d+) ', svg)[1])
    pixels = np.ones((size, size), dtype=np.uint8)
    for x, y, wide in re.findall(r"M(\d+) (\d+)h(\d+)v1h", svg):
        pixels[int(y), int(x) : int(x) + int(wide)] = 0
    assert pixels[:QUIET].all()
    picture = np.ascontiguousarray(np.kron(pixels * 255, np.ones((4, 4))).astype(np.uint8))
    (found,) = zxingcpp.read_barcodes(picture)
    return found.text


def test_the_code_on_the_poster_opens_the_design_with_its_catalogue(document):
    made = poster.poster_of(document, link=link_of(document), date="1 May 2026")
    assert made.html.count("<svg") == 1
    assert made.code in made.html
    opened = share.decode(read_back(made.code))
    assert opened == {**document, "catalogue": "generic catalogue 1"}
    side = float(re.search(r'width="([\d.]+)mm"', made.code)[1])
    assert side == poster.SIDE
    for text in ("Scan me in the field", "1 May 2026", "generic catalogue 1", "local code"):
        assert text in made.html


def test_names_are_text(document):
    made = poster.poster_of(document, link=link_of(document))
    assert "Upper &lt;field&gt;" in made.html
    assert "<field>" not in made.html
    assert made.title == "Poster: Upper <field>"


def test_a_design_that_cannot_be_read_gets_no_code(document):
    document["main"]["length"] = "-5 m"
    with pytest.raises(InputErrors) as caught:
        poster.poster_of(document, link=link_of(document))
    assert caught.value.errors[0].field == "main.length"


@pytest.mark.parametrize(
    ("link", "code"),
    [
        ("", "link_too_long"),
        (f"{ADDRESS}#{'x' * MOST}", "link_too_long"),
        ("javascript:alert(1)", "wrong_link"),
        ("https://a.example/ b", "wrong_link"),
    ],
)
def test_a_link_that_makes_no_good_code_is_refused(document, link, code):
    with pytest.raises(InputError) as caught:
        poster.poster_of(document, link=link)
    assert caught.value.code == code


def test_the_page_asks_for_it(document):
    request = {"v": web.VERSION, "op": "poster", "document": document, "link": link_of(document)}
    reply = json.loads(web.call(json.dumps(request)))
    assert reply["ok"]
    assert reply["code"] in reply["html"]
    assert ".poster" in reply["css"]
    assert not json.loads(web.call(json.dumps({**request, "date": 5})))["ok"]
