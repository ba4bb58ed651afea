"""What a finding rests on is enough for it to come again, or the search raises."""

from __future__ import annotations

from laws.bench import bike, change, findings_of, vetting, with_facts


def test_what_was_read_off_a_neighbour_is_known_without_it() -> None:
    of = bike("road-disc")
    asked = change(of, "ostmoor-low-zs44-lower@headset-lower")
    told = with_facts(of, asked, frame__head_tube_lower="unknown", headset_AT_lower__code="EC34/40")
    blocking = {finding.name: finding for finding in findings_of(told, asked) if finding.level == "blocks"}
    assert "headset-lower-seat-mismatch" in blocking, "IS52 was read off the lower half that comes out"
    assert vetting(told).swap(asked).verdict == "blocked"


def test_where_a_thing_could_be_mounted_is_read_though_its_record_has_nothing_of_it() -> None:
    """Else no other thing at its place, with a mount, would ever be tried for the line that leads to it."""
    of = bike("allroad-wired")
    asked = change(of, "wexcombe-veil-420-100@handlebar")
    told = with_facts(of, asked, junction_AT_front__mounts="[]")
    lost = [finding for finding in findings_of(told, asked) if str(finding.message).startswith("Nothing on this bike")]
    ends = {name for finding in lost for name in (finding.positions[0],) if "junction-front" in str(told.fitted[name])}
    assert ends
    for finding in lost:
        if finding.positions[0] in ends:
            assert ("junction-front", "mounts") in {(item.position, item.attribute) for item in finding.evidence}
