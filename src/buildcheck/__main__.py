"""The way in, for `python -m buildcheck` and for the installed command."""

import gc

gc.disable()  # a short-lived process: collecting garbage costs more than it frees

from buildcheck.cli import main  # noqa: E402

if __name__ == "__main__":
    main()
