"""MkDocs hook: worked examples that are run while the site is built, so that they cannot rot.

A fence that begins with ```` ```python run ```` is shown, run, and followed by what it prints and
by the value of its last expression, as in a notebook. The fences of a page share their names. One
that raises stops the build.
"""

from __future__ import annotations

import ast
import io
import json
import re
from contextlib import redirect_stdout
from html import escape
from typing import Any

from mkdocs.exceptions import PluginError

from evenrow.catalogue import builtin, using
from kept_answers import kept

FENCE = re.compile(r"^```python run\n(?P<code>.*?)^```$", re.DOTALL | re.MULTILINE)
STYLE = re.compile(r"<style>.*?</style>", re.DOTALL)


def run(code: str, names: dict[str, Any], where: str) -> tuple[str, Any]:
    """Run an example in `names`; return what it printed and the value of its last expression.

    Raises
    ------
    PluginError
        When the example raises: the message names the page and the error.
    """
    tree = ast.parse(code)
    last = tree.body.pop() if tree.body and isinstance(tree.body[-1], ast.Expr) else None
    printed, value = io.StringIO(), None
    try:
        # The words around an example speak of the generic lines, on a co-op's own site too.
        with using(builtin()), redirect_stdout(printed):
            exec(compile(tree, where, "exec"), names)
            if isinstance(last, ast.Expr):
                value = eval(compile(ast.Expression(last.value), where, "eval"), names)
    except Exception as error:
        raise PluginError(
            f"an example of {where} fails: {type(error).__name__}: {error}\n{code}"
        ) from error
    return printed.getvalue(), value


def shown(value: Any) -> str:
    """Return a value as HTML: a drawing as it is, anything else as text."""
    if value is None:
        return ""
    if isinstance(value, str) and value.startswith("<svg"):
        # The page has the styles of drawings already.
        return f'<div class="er-figure">{STYLE.sub("", value)}</div>'
    text = value if isinstance(value, str) else repr(value)
    return f'<pre class="er-output"><code>{escape(text)}</code></pre>'


def with_results(markdown: str, where: str) -> tuple[str, list[str]]:
    """Return a page's Markdown with its examples run, and the HTML of their results.

    A result stands in the Markdown as a comment with its number, so that Markdown leaves it alone.
    """
    names: dict[str, Any] = {"__name__": "example"}
    results: list[str] = []

    def put(match: re.Match[str]) -> str:
        printed, value = run(match["code"], names, where)
        text = f'<pre class="er-output"><code>{escape(printed)}</code></pre>' if printed else ""
        results.append(text + shown(value))
        return f"```python\n{match['code']}```\n\n<!-- result {len(results)} -->\n"

    return FENCE.sub(put, markdown), results


_results: dict[str, list[str]] = {}


def on_page_markdown(markdown: str, *, page: Any, **_: Any) -> str:
    """Run the examples of a page."""
    where = page.file.src_uri
    if not FENCE.search(markdown):
        return markdown
    made = kept(f"{where} {markdown}", lambda: json.dumps(with_results(markdown, where)))
    markdown, _results[where] = json.loads(made)
    return markdown


def on_page_content(content: str, *, page: Any, **_: Any) -> str:
    """Put the results behind their examples."""
    for number, result in enumerate(_results.pop(page.file.src_uri, []), start=1):
        content = content.replace(f"<!-- result {number} -->", result)
    return content
