"""White space of templates goes from pages; what is shown as it stands stays."""

import pytest

from squeeze import squeeze_pages, squeezed


@pytest.mark.parametrize(
    ("page", "small"),
    [
        ("<p>\n\n   a  b </p>   \n <i>c</i>", "<p>\na  b </p>\n<i>c</i>"),
        ("<b>a</b> <i>b</i>", "<b>a</b> <i>b</i>"),
        ("<pre>a\n\n  b</pre>\n\n<p>", "<pre>a\n\n  b</pre>\n<p>"),
        ("\n\n<textarea x>\n  y\n</textarea>\n\n", "\n<textarea x>\n  y\n</textarea>\n"),
        (
            "<script>a\n\n b</script>\n <pre> c\n d</pre>",
            "<script>a\n\n b</script>\n<pre> c\n d</pre>",
        ),
    ],
)
def test_only_what_shows_nowhere_goes(page, small):
    assert squeezed(page) == small


def test_every_page_of_a_site_is_squeezed(tmp_path):
    (tmp_path / "a").mkdir()
    for name in ("index.html", "a/index.html", "a/notes.txt"):
        (tmp_path / name).write_text("a\n\n b")
    squeeze_pages(tmp_path)
    assert (tmp_path / "index.html").read_text() == "a\nb"
    assert (tmp_path / "a" / "index.html").read_text() == "a\nb"
    assert (tmp_path / "a" / "notes.txt").read_text() == "a\n\n b"
