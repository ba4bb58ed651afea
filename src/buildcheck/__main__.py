"""The way in, for `python -m buildcheck` and for the installed command."""

import atexit
import gc
import os

# A short-lived process: looking through everything costs more than it frees. The search of the demo
# keeps a third of this count; without a limit a long one would grow by what it leaves in rings.
gc.set_threshold(1_000_000, 1_000, 1_000)
# Nor at the end: the interpreter would look through all that there is, several times, for what goes with it anyway.
atexit.register(gc.freeze)

# No plugin of pydantic has a part in our records; to look for one takes as long as to vet a bike.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

from buildcheck.cli import main  # noqa: E402

if __name__ == "__main__":
    main()
