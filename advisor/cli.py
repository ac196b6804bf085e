"""The verbs of the command line."""

from __future__ import annotations

import sys


def main() -> int:
    from advisor.library.base import load
    from advisor.library.yamlfiles import LibraryError

    try:
        load(None)
    except LibraryError as error:
        print(error)
        return 2
    print("all well")
    return 0


if __name__ == "__main__":
    sys.exit(main())
