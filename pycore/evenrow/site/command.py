"""The words of ``evenrow site``, and what it does."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from evenrow.catalogue.host import HOST
from evenrow.site.order import read_order, unanswered_examples
from evenrow.site.workshop import build_site
from evenrow.words import LANGUAGES, tr


def add_command(commands: Any) -> None:
    """Add ``evenrow site`` to the commands of a parser."""
    site = commands.add_parser(
        "site", help=tr("build a site of your own, with your catalogue and prices")
    )
    site.add_argument(
        "--catalogue", metavar="DIR", required=True, help=tr("folder of your catalogue")
    )
    site.add_argument("--out", metavar="DIR", required=True, help=tr("folder for the site"))
    site.add_argument("--name", metavar="NAME", help=HOST.key("name").help)
    site.add_argument("--contact", metavar="LINE", help=HOST.key("contact").help)
    site.add_argument(
        "--caution",
        metavar="TEXT",
        dest="cautions",
        action="append",
        help=f"{HOST.key('cautions').help} Once for each.",
    )
    site.add_argument("--units", choices=("us", "metric"), help=HOST.key("units").help)
    site.add_argument("--language", choices=tuple(LANGUAGES), help=HOST.key("language").help)
    site.add_argument(
        "--check", action="store_true", help=tr("only check the catalogue; build nothing")
    )
    site.set_defaults(action=run)


def run(options: argparse.Namespace) -> int:
    """Check everything, build the site, and say what became of it; returns the exit status."""
    words = {key.name: getattr(options, key.name) for key in HOST.keys}
    order = read_order(Path(options.catalogue), Path(options.out), words)
    print(tr("{name}: {catalogue}", name=order.host.name, catalogue=order.catalogue.mark))
    for line in order.catalogue.summary:
        print(f"  {line}")
    for note in order.catalogue.notes:
        print(tr("Note: {note}.", note=note))
    for title in unanswered_examples(order):
        print(tr("Note: the example “{title}” has no answer with this catalogue.", title=title))
    print(flush=True)
    return 0 if options.check else build_site(order)
