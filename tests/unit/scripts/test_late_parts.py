"""Large parts come into a page when it is finished; the search sees their words alone."""

import late_parts


def test_a_part_stands_for_its_words_until_the_page_is_finished():
    late_parts.forget()
    one = late_parts.later('<div class="x"><p>a \\1 b</p></div>', "er-calc", "Flow, pressure")
    two = late_parts.later("<table></table>", "er-look")
    assert 'class="er-calc"' in one
    assert "Flow, pressure" in one
    assert "<table>" not in two
    page = f"<main>{one}</main><p>{two}</p>"
    assert late_parts.filled(page) == (
        '<main><div class="x"><p>a \\1 b</p></div></main><p><table></table></p>'
    )
    assert late_parts.filled("<p>plain</p>") == "<p>plain</p>"
