"""Modules of the page are joined into one, or the build stops."""

from __future__ import annotations

import pytest

from common import ROOT, StopError
from join_modules import join, joined

PAGE_MODULES = ROOT / "site_src" / "assets" / "js"


def write(folder, **modules):
    """Write modules by name; return the one named top."""
    for name, text in modules.items():
        (folder / f"{name}.js").write_text(text, encoding="utf-8")
    return folder / "top.js"


def test_each_module_stands_once_and_before_those_that_need_it(tmp_path):
    top = write(
        tmp_path,
        top='import { a } from "./left.js";\nimport {\n  c,\n} from "./base.js";\nstart(a, c);\n',
        left='import { c } from "./base.js";\n\nexport const a = c + 1;\n',
        base="const first = 1;\nexport async function c() {\n  return first;\n}\n",
    )
    join(top)
    text = top.read_text(encoding="utf-8")
    assert [line for line in text.splitlines() if line] == [
        "const first = 1;",
        "async function c() {",
        "  return first;",
        "}",
        "const a = c + 1;",
        "start(a, c);",
    ]
    assert [path.name for path in tmp_path.iterdir()] == ["top.js"]


def test_one_name_in_two_modules_stops_the_build(tmp_path):
    top = write(
        tmp_path,
        top='import { a } from "./left.js";\nconst URL_ = a;\n',
        left="export const a = 1;\n",
    )
    joined(top)
    write(tmp_path, left="export const a = 1;\nlet URL_ = 2;\n")
    with pytest.raises(StopError, match=r"left\.js and top\.js both have a URL_"):
        joined(top)


@pytest.mark.parametrize(
    "line",
    [
        'import a from "./left.js";',
        'import * as a from "./left.js";',
        'import { a as b } from "elsewhere";',
        'import "./left.js";',
        "export default 1;",
        "export { a };",
    ],
)
def test_other_forms_stop_the_build(tmp_path, line):
    with pytest.raises(StopError, match="cannot be joined"):
        joined(write(tmp_path, top=f"{line}\n", left="export const a = 1;\n"))


def test_the_pages_worker_can_be_joined():
    text = joined(PAGE_MODULES / "core-worker.js")
    assert 'from "./' not in text
    assert text.count("function startKept(") == 1
    assert text.rindex("function shutNetwork(") < text.rindex("shutNetwork(globalThis)")
