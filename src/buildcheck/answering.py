"""From the bytes of files and the words of a request to a report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from buildcheck.library.bikes import bike_of, check_position, set_facts
from buildcheck.library.catalogue import Catalogue, catalogue_from
from buildcheck.library.folders import Content
from buildcheck.library.problems import TYPED_POSITION, FileLine, InputError, Problem
from buildcheck.library.requests import read_request
from buildcheck.library.terms import read_terms
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.report import Report
from buildcheck.vetting import Vetting, verdict_of

if TYPE_CHECKING:  # making these classes takes time, and a check has no use for them
    from buildcheck.measure.questions import Question
    from buildcheck.model.choices import Choices
    from buildcheck.model.job import JobCard
    from buildcheck.model.levels import Verdict
    from buildcheck.remedies import Stop


def report_of(
    bike: Bike, catalogue: Catalogue, request: Mapping[str, Sequence[str]], stock: Content | None = None,
    stop: Stop | None = None, actuals: Content | None = None,
) -> Report:
    """The report on a bike (nothing asked for) or on a change to it. Raises InputError.

    Besides `fit`, `take_off`, `renew`, `move` and `set` a request may hold `rate`, `keep` and `exclude`. `stop` may
    end the search for remedies; `actuals` is what operations really took.
    """
    vetting, change = _asked(bike, catalogue, request, stock, stop, actuals)
    return vetting.swap(change) if change.positions else vetting.check()


def _asked(
    bike: Bike, catalogue: Catalogue, request: Mapping[str, Sequence[str]], stock: Content | None,
    stop: Stop | None, actuals: Content | None,
) -> tuple[Vetting, Change]:
    change = read_request(request, bike, catalogue)
    bike = set_facts(bike, change, request.get("set", ()), catalogue)
    return Vetting(bike, catalogue, read_terms(request, stock, change, bike, catalogue, actuals), stop), change


def card_for(
    bike: Content, contents: Sequence[Content], request: Mapping[str, Sequence[str]], *,
    stock: Content | None = None, actuals: Content | None = None, remedy: int | None = None, promised: str = "",
    correlation: float | None = None, stop: Stop | None = None,
) -> JobCard:  # fmt: skip
    """The job card of a change, with one of its remedies. Raises InputError."""
    from buildcheck.jobs import Agreed, NoSuchRemedyError, job_card  # they need numpy, which a swap does not

    catalogue = catalogue_from(contents)
    vetting, change = _asked(bike_of(bike, catalogue), catalogue, request, stock, stop, actuals)
    try:
        return job_card(vetting, change, Agreed(remedy, promised, correlation))
    except NoSuchRemedyError as error:
        raise InputError([Problem(FileLine("--remedy", 1, 1), str(error), "meaning")]) from None


def choices_for(
    bike: Content, contents: Sequence[Content], position: str, settings: Sequence[str], stock: Content | None = None
) -> Choices:
    """What fits a position of a bike, and why the rest does not. Raises InputError."""
    from buildcheck.choosing import choices

    catalogue = catalogue_from(contents)
    loaded = set_facts(bike_of(bike, catalogue), Change(), settings, catalogue)
    check_position(TYPED_POSITION, position, loaded, catalogue)
    terms = read_terms({}, stock, Change(), loaded, catalogue)
    return choices(Vetting(loaded, catalogue, terms), position)


def questions_for(bike: Bike, change: Change, catalogue: Catalogue) -> tuple[Verdict, tuple[Question, ...]]:
    """The verdict on a change, or on the bike as it stands, and what is to be asked, in that order, to decide it."""
    from buildcheck.measure.questions import questions_of

    vetting = Vetting(bike, catalogue)
    if change == Change():
        view, findings = vetting.before.view, vetting.ran_before.findings
    else:
        vetted = vetting.vetted(change)
        view, findings = vetted.context.view, vetted.findings
    verdict = verdict_of(findings, changed=change != Change())
    return verdict, tuple(questions_of(view, vetting.measure_first(change), vetting.parts_for))
