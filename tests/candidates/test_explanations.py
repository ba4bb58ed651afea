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
