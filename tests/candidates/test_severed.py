"""What a search knows of wires without trying: it blocks, whatever else of the system is another part."""

from __future__ import annotations

from buildcheck.candidates.domains import PartDomains
from buildcheck.candidates.entailment import FindingReason
from buildcheck.candidates.evidence import rests_on
from buildcheck.candidates.features import SYSTEM, GoesBetween
from buildcheck.candidates.severed import why_severed
from buildcheck.model.bikes import Change
from buildcheck.vetting import Vetting
from laws.bench import bike, catalogue
from oracles import Case

ASKED = (("wexcombe-veil-420-100", "handlebar"),)
LOST = ("wire-lever-left", "wire-frame", "wire-lever-right")


def case(*off: str) -> Case:
    return Case(Vetting(bike("allroad-wired"), catalogue()), Change(ASKED, off))


def reasons(of: Case, name: str) -> list[FindingReason]:
    context = of.start.context
    found = [finding for finding in of.start.blocking if finding.name == name]
    return [FindingReason(context, finding, rests_on(context, finding)) for finding in found]


def test_a_device_is_cut_off_whatever_the_others_of_its_system_are() -> None:
    found = reasons(case(*LOST), "wiring-not-connected")
    assert found
    for reason in found:
        needs = why_severed(reason)
        assert needs is not None
        assert [at for at, names in needs.items() if SYSTEM in names and at in reason.finding.positions]
        assert sum(SYSTEM in names for names in needs.values()) == 2
        assert needs.keys() & set(LOST)
        assert not any("ports" in names for names in needs.values())


def test_what_has_no_charge_socket_is_told_by_that_alone() -> None:
    (reason,) = reasons(case(), "charge-point-out-of-reach")
    needs = why_severed(reason)
    assert needs is not None
    assert needs["lever-left"] == {"charge_port"}
    assert {"power", SYSTEM} <= needs["battery"]
    assert not any("ports" in names for names in needs.values())


def test_another_finding_is_left_to_trials() -> None:
    assert all(why_severed(reason) is None for reason in reasons(case(), "junction-without-place"))


def test_what_is_known_of_plugs_blocks() -> None:
    """One set of parts for each sort of what is known: the finding that it names is there."""
    of = case()
    domains = PartDomains(of.vetting.vetter(of.asked), of.change, of.start.context, of.pinned)
    opened = {at: domains.of(at) for at in ("wire-frame", "wire-lever-left", "wire-lever-right", "junction-front")}
    tried = set()
    for position in opened:
        for cube, name in domains.plugs.nogoods(opened, position):
            sort = name, frozenset((each.slot, isinstance(each.features[0], GoesBetween)) for each in cube)
            meant = {
                each.slot: [one for one in opened[each.slot] if one.values(each.slot, each.features) == each.values]
                for each in cube
            }  # fmt: skip
            if sort not in tried and all(meant.values()):
                tried.add(sort)
                fits = tuple((some[0].part.id, at) for at, some in meant.items() if some[0].part and some[0].changed)
                vetted = of.vetting.vetted(Change((*ASKED, *fits)))
                assert name in {finding.name for finding in vetted.blocking}, (sort, fits)
    assert {name for name, _ in tried} == {"plug-mismatch"}
