"""Pages in two languages: which is which, their navigation, and what the theme gets for each."""

import json

import pytest
from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.exceptions import Abort

import build_site
import language_hook
import site_languages

PAGE = "{{ page.title }}|{{ config.theme.language }}|{{ base_url }}|{{ home }}|{{ say('Answer') }}"
SWITCH = "{% for o in other_languages %}|{{ o.lang }} {{ o.link | url }}{% endfor %}"
NAV = "{% for item in nav %}|{{ item.title }} {{ item.url | url }}{% endfor %}"


@pytest.mark.parametrize(
    ("path", "code", "plain"),
    [
        ("zones.md", "en", "zones.md"),
        ("es/zones.md", "es", "zones.md"),
        ("es/zones/", "es", "zones/"),
        ("es", "en", "es"),
        ("es-old/zones.md", "en", "es-old/zones.md"),
        ("about/es/zones.md", "en", "about/es/zones.md"),
        ("en/zones.md", "en", "en/zones.md"),
    ],
)
def test_the_folder_says_the_language(path, code, plain):
    assert site_languages.language_of(path) == code
    assert site_languages.without_language(path) == plain
    assert site_languages.without_language(site_languages.in_language(path, "es")) == plain


def test_what_is_not_translated_is_said_in_english():
    assert site_languages.say("Answer", "es") == "Respuesta"
    assert site_languages.say("Answer", "en") == "Answer"
    assert site_languages.say("Nobody has said this", "es") == "Nobody has said this"


@pytest.fixture
def project(tmp_path):
    """A site of three pages, one of them without a Spanish twin."""
    for name in ("index", "zones", "speed", "es/index", "es/zones"):
        path = tmp_path / "docs" / f"{name}.md"
        path.parent.mkdir(exist_ok=True, parents=True)
        path.write_text(f"# {name}\n")
    (tmp_path / "theme").mkdir()
    (tmp_path / "theme" / "main.html").write_text("\n".join((PAGE, SWITCH, NAV)))
    nav = [
        {"Start": "index.md"},
        {"Zones": "zones.md"},
        {"Speed": "speed.md"},
        {"Español": [{"Inicio": "es/index.md"}, {"Zonas": "es/zones.md"}]},
    ]
    toggle = {"icon": "x", "name": "Dark colours"}
    return load_config(
        config_file=None,
        site_name="x",
        docs_dir=str(tmp_path / "docs"),
        site_dir=str(tmp_path / "site"),
        nav=nav,
        plugins=[],
        theme={
            "name": None,
            "custom_dir": str(tmp_path / "theme"),
            "language": "en",
            "palette": [{"toggle": toggle}],
        },
        hooks=[language_hook.__file__],
    )


def lines(project, page):
    path = f"{project.site_dir}/{page}index.html"
    with open(path, encoding="utf-8") as file:
        return [line for line in file.read().splitlines() if line]


def test_each_page_has_its_language_and_the_way_to_the_other(project):
    build(project)
    head, switch, nav = lines(project, "zones/")
    assert head == "Zones|en|..||Answer"
    assert switch == "|es ../es/zones/"
    assert nav == "|Start ..|Zones ./|Speed ../speed/"
    head, switch, nav = lines(project, "es/zones/")
    assert head == "Zonas|es|..|es/|Respuesta"
    assert switch == "|en ../../zones/"
    assert nav == "|Inicio ../|Zonas ./|Velocidad (en inglés) ../../speed/"


def test_a_page_without_a_twin_leads_to_the_start_of_the_other_language(project):
    build(project)
    _, switch, _ = lines(project, "speed/")
    assert switch == "|es ../es/"
    head, _, _ = lines(project, "es/")
    assert head == "Inicio|es|.|es/|Respuesta"


def test_a_navigation_without_the_other_language_stops_the_build(project, caplog):
    project.nav = project.nav[:-1]
    with pytest.raises(Abort, match="BuildError"):
        build(project)
    assert "no navigation named Español" in caplog.text


def test_each_language_searches_its_own_pages(tmp_path):
    words = tmp_path / build_site.LUNR / "min"
    words.mkdir(parents=True)
    for code in ("es", "de", "stemmer.support"):
        (words / f"lunr.{code}.min.js").write_text("x")
    folder = tmp_path / "search"
    folder.mkdir()
    docs = [{"location": each, "text": each} for each in ("", "zones/", "es/", "es/zones/#a")]
    whole = {"config": {"lang": ["en"], "separator": " "}, "docs": docs}
    (folder / "search_index.json").write_text(json.dumps(whole))
    build_site.separate_search(tmp_path)
    english = json.loads((folder / "search_index.json").read_text())
    spanish = json.loads((tmp_path / "es" / "search" / "search_index.json").read_text())
    assert [each["location"] for each in english["docs"]] == ["", "zones/"]
    assert [each["location"] for each in spanish["docs"]] == ["", "zones/#a"]
    assert spanish["config"] == {"lang": ["es"], "separator": " "}
    assert english["config"]["lang"] == ["en"]
    kept = sorted(path.name for path in words.iterdir())
    assert kept == ["lunr.es.min.js", "lunr.stemmer.support.min.js"]
