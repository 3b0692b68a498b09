"""Forms show what matters for the choices made, with what is taken where nothing is said."""

from evenrow.calculators.html_form import form_html
from evenrow.calculators.registry import CALCULATORS
from evenrow.design.demos import demo


def tag(html, mark):
    start = html.index(mark)
    return html[html.rindex("<div", 0, start) : html.index(">", start)]


def test_fields_that_do_not_matter_for_the_source_are_hidden():
    html = form_html(CALCULATORS["whole-field"], demo("school-garden"))
    assert tag(html, 'data-field="source.static_pressure"').endswith(" hidden")
    assert tag(html, 'data-table="source.pump_curve"').endswith(" hidden")
    assert not tag(html, 'data-field="source.water_height"').endswith(" hidden")


def test_what_a_document_leaves_out_stands_in_the_form_as_it_is_taken():
    html = form_html(CALCULATORS["whole-field"], demo("raspberries"))
    start = html.index('data-field="source.reserve"')
    assert 'value="10"' in html[start : html.index("</div>", start)]
