# Sourced by run, test and bench: sets PYTHON to a Python that can prepare the environment.
if [ -z "${PYTHON:-}" ]; then
  for name in python3 python3.14 python3.13 python3.12 python3.11 python; do
    if command -v "$name" >/dev/null 2>&1 &&
      "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
      PYTHON="$name"
      break
    fi
  done
fi
if [ -z "${PYTHON:-}" ]; then
  echo "evenrow: stopped. Evenrow needs Python 3.11 or newer and none was found. On Debian 12 or" \
    "newer install python3 and python3-venv (as root: apt-get install python3 python3-venv), or" \
    "name a Python: PYTHON=/path/to/python3 $0" >&2
  exit 1
fi
