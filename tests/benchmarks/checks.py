"""Vetting bikes as they stand, in one process; run by bench.py, prints its figures as JSON.

`check_over_loop`: all bundled bikes, each vetting made anew after a warm-up; the time of one over that of a plain loop
of Python, the two taken in turn. `check_new_bike_over_loop`: the same with parts that this process never saw, so that
nothing which the process keeps of parts and of what sits where can serve. `check_growth_exponent`: the slope of the
time of one vetting of such a new bike against the joints on it, both in logarithms, for a bike with ever more spacers,
wires, junctions and accessories.
"""

from __future__ import annotations

import gc
import json
import math
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from statistics import linear_regression, median

from buildcheck.fit.joints import find_joints
from buildcheck.fit.view import View
from buildcheck.library.bikes import load_bike
from buildcheck.library.catalogue import Catalogue, load
from buildcheck.library.folders import bundled_folder
from buildcheck.model.bikes import Bike
from buildcheck.vetting import Vetting

ROUNDS = 15
# So many that what every bike has anyway does not hide how the rest grows.
SIZES = (96, 192, 384, 768)


def best_s(job: Callable[[], object], rounds: int = ROUNDS) -> float:
    """The shortest time of the processor that a job took: it waits for nothing, and other processes do not count."""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        job()
        times.append(time.process_time() - start)
    return min(times)


def loop() -> int:
    """What any Python does in some milliseconds, as a measure of the machine as it is at the moment."""
    return sum(i * i for i in range(100_000))


def check_all(bikes: Iterable[Bike], catalogue: Catalogue) -> None:
    """Vet each bike, with nothing kept of an earlier vetting but what the process shares."""
    for bike in bikes:
        Vetting(bike, catalogue).check()


def new(bike: Bike) -> Bike:
    """The same bike of parts that are equal, but were never looked at."""
    copies = {spot.token: spot.part.model_copy() for spot in bike.fitted.values()}
    return bike.with_fitted({name: replace(spot, part=copies[spot.token]) for name, spot in bike.fitted.items()})


def longer(bike: Bike, times: int) -> Bike:
    """The bike with so many more spacers under the stem, junctions in a row with a wire to each, and accessories."""
    fitted = dict(bike.fitted)
    kinds = {spot.part.kind: spot for spot in bike.fitted.values()}
    below, wired = fitted["stem"].on, kinds["junction"].position
    for index in range(times):
        names = {kind: f"{kind}-more-{index}" for kind in ("spacer", "junction", "wire", "accessory")}
        for kind, name in names.items():
            fitted[name] = replace(kinds[kind], position=name, home=name)
        fitted[names["spacer"]] = replace(fitted[names["spacer"]], on=below)
        fitted[names["wire"]] = replace(fitted[names["wire"]], start=wired, end=names["junction"])
        below, wired = names["spacer"], names["junction"]
    fitted["stem"] = replace(fitted["stem"], on=below)
    return bike.with_fitted(fitted)


def figures() -> dict[str, float]:
    """The figures, with the joints and times that the exponent is made from."""
    catalogue = load()
    bikes = [load_bike(path, catalogue) for path in sorted((bundled_folder() / "bikes").glob("*.yaml"))]
    check_all(bikes, catalogue)
    gc.disable()  # buildcheck itself seldom collects
    checks, news, loops = [], [], []
    for _ in range(ROUNDS):
        unseen = [new(bike) for bike in bikes]
        checks.append(best_s(lambda: check_all(bikes, catalogue), 1) / len(bikes))
        news.append(best_s(lambda: check_all(unseen, catalogue), 1) / len(bikes))  # noqa: B023
        loops.append(best_s(loop, 1))
    found = {
        "check_over_loop": median(checks) / median(loops),
        "check_new_bike_over_loop": median(news) / median(loops),
        "checks_per_s": 1 / median(checks),
    }
    wired = load_bike(Path("allroad-wired"), catalogue)
    joints, seconds = [], []
    for size in SIZES:
        bike = longer(wired, size)
        joints.append(len(find_joints(View(bike, catalogue.standards))))
        unseen = [new(bike) for _ in range(7)]
        seconds.append(min(best_s(lambda: Vetting(each, catalogue).check(), 1) for each in unseen))  # noqa: B023
        found[f"check_of_{joints[-1]}_joints_ms"] = seconds[-1] * 1000
    found["check_growth_exponent"] = linear_regression([math.log(n) for n in joints], [math.log(t) for t in seconds])[0]
    return found


if __name__ == "__main__":
    print(json.dumps(figures()))
