"""What a request says of the remedies that are wanted: the words of the options, and the parts in stock."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from buildcheck.library.actuals import actuals_of
from buildcheck.library.bikes import check_position, newly_filled
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.folders import Content
from buildcheck.library.problems import FileLine, InputError, Problem, did_you_mean
from buildcheck.library.stock import euros, stock_of
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.quantities import LARGEST, brief
from buildcheck.model.terms import InStock, Terms


def read_terms(
    words: Mapping[str, Sequence[str]], stock: Content | None, change: Change, bike: Bike, catalogue: Catalogue,
    actuals: Content | None = None,
) -> Terms:  # fmt: skip
    """The terms of `rate`, `keep` and `exclude` in a request, of a stock file, and of a file of what work really took.

    Raises InputError.

    Without a rate that of the shop in the standards counts.
    """
    reader = _TermsReader(change, bike, catalogue)
    rate = reader.rate(words.get("rate", ()))
    keep = reader.keep(words.get("keep", ()))
    exclude = reader.exclude(words.get("exclude", ()))
    pieces = reader.stock(stock)
    taken = reader.taken(actuals)
    if reader.problems:
        raise InputError(reader.problems)
    return Terms(rate, keep, exclude, pieces, taken)


class _TermsReader:
    """Reads one option after the other; gathers every problem."""

    def __init__(self, change: Change, bike: Bike, catalogue: Catalogue) -> None:
        self.change, self.bike, self.catalogue = change, bike, catalogue
        self.problems: list[Problem] = []

    def _refuse(self, option: str, text: str) -> None:
        self.problems.append(Problem(FileLine(option, 1, 1), text, "meaning"))

    def rate(self, texts: Sequence[str]) -> float:
        """Euros for an hour at the bench."""
        rate = self.catalogue.standards.shop.rate_eur_per_hour
        for text in texts:
            rate = euros(text) or 0.0
            if not rate:
                expected = f"a plain number of euros for an hour, above 0 and up to {LARGEST:.0f}, as 72.50"
                self._refuse("--rate", f"{expected}, is expected, not {brief(text)}")
        return rate

    def keep(self, names: Sequence[str]) -> frozenset[str]:
        """Positions that stay as they are."""
        new = newly_filled(self.bike, self.change, self.catalogue)
        altered = self.bike.with_whole_parts({*new, *(self.change.positions - {at for _, at in self.change.fit})})
        for name in dict.fromkeys(names):
            try:
                check_position("--keep", name, self.bike, self.catalogue)
            except InputError as error:
                self.problems.extend(error.problems)
            if name in altered:
                self._refuse("--keep", f"the change itself alters {brief(name)}, so it cannot be kept as it is")
        return frozenset(names)

    def exclude(self, ids: Sequence[str]) -> frozenset[str]:
        """Parts that are not wanted."""
        known = [*self.catalogue.ids, *self.bike.own_parts]
        for part_id in dict.fromkeys(ids):
            if part_id not in known:
                hint = did_you_mean(part_id, known)
                self._refuse("--exclude", f"no part {brief(part_id)} in the catalogue{hint}")
        return frozenset(ids)

    def stock(self, content: Content | None) -> dict[str, InStock]:
        """Parts in the shop."""
        try:
            return {} if content is None else stock_of(content, self.catalogue)
        except InputError as error:
            self.problems.extend(error.problems)
            return {}

    def taken(self, content: Content | None) -> Mapping[str, Sequence[float]]:
        """Minutes that operations really took."""
        try:
            return {} if content is None else actuals_of(content, self.catalogue)
        except InputError as error:
            self.problems.extend(error.problems)
            return {}
