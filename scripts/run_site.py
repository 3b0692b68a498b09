"""What ``./scripts/run`` does once the virtual environment stands."""

from __future__ import annotations

import argparse
import subprocess
import sys

from build_site import build
from common import BUILD, VENV, guarded, run, say
from serve import address, make_server

DEMO = "raspberries"


def print_demo() -> None:
    """Print the worked design of the demo, through the installed command."""
    evenrow = VENV / "bin" / "evenrow"
    text = run([evenrow, "demo", DEMO], why="Printing the demo's design file")
    file = BUILD / f"{DEMO}.toml"
    file.write_text(text, encoding="utf-8")
    print(flush=True)
    subprocess.run([evenrow, "design", file], check=True)
    print(f"\nThe design file of this demo is {file.relative_to(BUILD.parent)}.", flush=True)


def main() -> int:
    """Build, print the demo, serve."""
    parser = argparse.ArgumentParser(
        prog="./scripts/run",
        description="Build Evenrow, print a worked design, serve the site on this machine.",
    )
    parser.add_argument("--no-serve", action="store_true", help="stop after the print")
    parser.add_argument("--port", type=int, default=8000, help="first port to try (8000)")
    parser.add_argument("--base", default="/", help="sub-path to serve under, like /some/co-op/")
    options = parser.parse_args()
    site = build()
    print_demo()
    if options.no_serve:
        return 0
    server = make_server(site, port=options.port, base=options.base)
    print(f"\nEvenrow is at {address(server, options.base)}  (Ctrl+C ends it)", flush=True)
    try:
        server.serve_forever()
    except KeyboardInterrupt:
        print()
    finally:
        server.server_close()
    return 0


if __name__ == "__main__":
    if not sys.prefix.startswith(str(VENV)):
        say("start this by ./scripts/run, which prepares its environment first")
        sys.exit(1)
    guarded(main)
