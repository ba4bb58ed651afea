"""schemas/: equal to the records, true of every bundled file and report, and of no broken one."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from urllib.request import url2pathname

import jsonschema_rs
import pytest
from hypothesis import given
from jsonschema import Draft202012Validator
from referencing import Registry, Resource

from buildcheck.library.catalogue import Catalogue
from buildcheck.library.folders import bundled_folder, schemas_folder
from buildcheck.library.schemas import DIALECT, all_schemas
from buildcheck.library.standards import TABLES
from buildcheck.library.yaml_text import read_file
from buildcheck.model.parts import PART_KINDS, Part
from buildcheck.model.quantities import INTERVAL_PATTERN
from command import run
from library.test_records import raw_parts, read

BAD = Path(__file__).parent / "bad"
SCHEMAS = {
    path.name.partition(".")[0]: json.loads(path.read_text(encoding="utf-8"))
    for path in schemas_folder().glob("*.json")
}
REGISTRY = jsonschema_rs.Registry([(schema["$id"], schema) for schema in SCHEMAS.values()])
CHECKS = {
    name: jsonschema_rs.Draft202012Validator(schema, registry=REGISTRY, offline=True)
    for name, schema in SCHEMAS.items()
}
MOST_LINES = 6500  # of all schemas together, our choice: what somebody can still read through


def faults(schema: str, value: object) -> list[str]:
    return [f"{error.instance_path}: {error.message}"[:300] for error in CHECKS[schema].iter_errors(value)]


def test_they_are_equal_to_the_records(catalogue: Catalogue) -> None:
    made = all_schemas(catalogue.standards)
    assert {path.name: path.read_text(encoding="utf-8") for path in schemas_folder().iterdir()} == made
    assert set(SCHEMAS) == {"part", "parts", "bike", "report", "choices", "job", "texts", *TABLES}


@pytest.mark.parametrize("name", sorted(SCHEMAS))
def test_they_are_good_schemas_with_no_loose_ends(name: str) -> None:
    schema = SCHEMAS[name]
    assert schema["$schema"] == DIALECT
    assert schema["$id"] == f"{name}.schema.json"
    Draft202012Validator.check_schema(schema)
    references = {item for _, node in _nodes(schema) if isinstance(item := node.get("$ref"), str)}
    definitions = {item.removeprefix("#/$defs/") for item in references if item.startswith("#")}
    assert definitions == set(schema.get("$defs", {}))
    assert {item for item in references if not item.startswith("#")} == (
        {"part.schema.json"} if name in ("bike", "parts") else set()
    )


def _nodes(node: Any, path: str = "") -> list[tuple[str, dict[str, Any]]]:
    """Every mapping in a schema, with the way to it."""
    if isinstance(node, list):
        return [found for item in node for found in _nodes(item, path)]
    if not isinstance(node, dict):
        return []
    return [(path, node), *(found for key, value in node.items() for found in _nodes(value, f"{path}/{key}"))]


def test_nothing_stands_twice_and_no_title_repeats_a_name() -> None:
    texts = {path.name: path.read_text(encoding="utf-8") for path in schemas_folder().iterdir()}
    assert sum(len(text.splitlines()) for text in texts.values()) <= MOST_LINES
    assert max(text.count(json.dumps(INTERVAL_PATTERN)) for text in texts.values()) == 1
    assert [name for name, text in texts.items() if '"steerer_clamp_mm"' in text] == ["part.schema.json"]
    titles = {(name, path): node["title"] for name in SCHEMAS for path, node in _nodes(SCHEMAS[name])
              if isinstance(node.get("title"), str)}  # fmt: skip
    assert titles == {("part", ""): "One part", **{(n, ""): f"A file of {n}" for n in ("parts", "texts", *TABLES)}}


def test_what_all_parts_have_stands_once_and_each_kind_once() -> None:
    definitions = SCHEMAS["part"]["$defs"]
    assert set(definitions["Part"]["properties"]) == set(Part.model_fields)
    names = [branch["$ref"].removeprefix("#/$defs/") for branch in SCHEMAS["part"]["oneOf"]]
    branches = [definitions[name]["properties"] for name in names]
    kinds = [word for own in branches for word in own["kind"].get("enum", [own["kind"].get("const")])]
    assert sorted(kinds) == sorted(PART_KINDS)
    assert [sorted(set(own) & set(Part.model_fields)) for own in branches] == [["kind"]] * len(branches)


def test_the_folder_works_wherever_it_lies_and_without_a_network(tmp_path: Path) -> None:
    folder = shutil.copytree(schemas_folder(), tmp_path / "a folder")

    def retrieve(uri: str) -> Any:
        path = Path(url2pathname(urlsplit(uri).path))
        assert (urlsplit(uri).scheme, path.parent) == ("file", folder)
        return Resource.from_contents(json.loads(path.read_text(encoding="utf-8")))

    registry: Any = Registry(retrieve=retrieve)  # type: ignore[call-arg]
    check = Draft202012Validator({"$ref": (folder / "bike.schema.json").as_uri()}, registry=registry)
    stem = {"kind": "stem", "id": "a", "maker": "b", "name": "c"}
    bike = {"bike": "a", "name": "b", "use": "city", "parts": {"stem": "a"}, "own_parts": [stem]}
    assert [error.message for error in check.iter_errors(bike)] == []
    misspelt = {**bike, "own_parts": [{**stem, "stakc_mm": 40}]}
    (error,) = check.iter_errors(misspelt)
    assert "'stakc_mm' was unexpected" in error.message


@pytest.mark.parametrize(
    "path", sorted(bundled_folder().glob("*/*.yaml")), ids=lambda path: f"{path.parent.name}/{path.stem}"
)
def test_every_bundled_file_is_as_its_schema_says(path: Path) -> None:
    value = read_file(path).value
    assert isinstance(value, dict)
    if path.parent.name in ("bikes", "outlines", "parts", "texts"):
        assert faults("bike" if path.parent.name in ("bikes", "outlines") else path.parent.name, value) == []
    else:
        assert [fault for name in value for fault in faults(name, value)] == []


@given(raw_parts())
def test_what_the_reader_takes_the_schema_takes(raw: dict[str, Any]) -> None:
    assert faults("part", read(raw).model_dump(mode="json", by_alias=True, exclude_unset=True)) == []


REQUESTS = [
    ("check", "allroad-wired"),
    ("check", "tourer-cable"),
    ("check", "city-rim", "--set", "stem.bar_clamp_mm=unknown", "--set", "handlebar.clamp_mm=25..26"),
    ("swap", "city-rim", "--take-off", "saddle"),
    ("swap", "allroad-wired", "--fit", "pellhurst-hose-a-2000@rear-brake-line", "--take-off", "accessory-bag"),
    ("swap", "allroad-wired", "--fit", "wexcombe-veil-420-100@handlebar"),
]


@pytest.fixture(scope="module", params=REQUESTS, ids=" ".join)
def report(request: pytest.FixtureRequest) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(run(*request.param, "--format", "json").out)
    return loaded


def test_reports_are_as_their_schema_says(report: dict[str, Any]) -> None:
    assert faults("report", report) == []
    assert next(iter(report)) == "schema_version"
    assert report["schema_version"] == 1


def test_a_report_that_lacks_or_adds_anything_is_not(report: dict[str, Any]) -> None:
    for key in report:
        assert faults("report", {name: value for name, value in report.items() if name != key})
    assert faults("report", {**report, "colour": "red"})
    assert faults("report", {**report, "verdict": "perhaps"})
    assert faults("report", {**report, "change": [{"fit": "a"}]})
    assert faults("report", {**report, "findings": [*report["findings"], {"name": "x"}]})


# What a schema cannot see: the order of an interval, names that must differ, codes of a grammar, and facts
# measured on a bike, which hold any attribute of any kind.
BEYOND_SCHEMAS = {
    "bikes": {
        "bore-of-another-shape", "date-for-a-number", "decimal-comma", "flag-for-a-number", "flag-for-a-price",
        "inches", "inches-as-a-fraction", "interval-backwards", "interval-with-three-dots", "list-for-a-number",
        "negative-size", "number-in-a-table", "place-of-unknown-type", "text-for-a-flag", "unit-in-the-number",
    },
    "parts": {
        "bad-headset-code", "bore-of-another-shape", "headset-code-of-both-halves", "same-passage-twice",
        "same-place-twice",
    },
    "tables": {"joint-without-danger", "minutes-out-of-order", "unknown-table"},
}  # fmt: skip


def _read_without_stages(path: Path) -> Any:
    return read_file(path).value


def _of_stage(folder: str, stage: str) -> list[str]:
    expected: Any = read_file(BAD / "expected.yaml").value
    return [name for name, messages in expected[folder].items() if all(f": {stage}: " in text for text in messages)]


@pytest.mark.parametrize(
    ("folder", "name"), [(folder, name) for folder in BEYOND_SCHEMAS for name in _of_stage(folder, "schema")]
)
def test_files_broken_at_the_schema_stage_are_refused_by_the_schemas(folder: str, name: str) -> None:
    value = _read_without_stages(BAD / folder / f"{name}.yaml")
    if folder == "tables":
        found = faults(next(iter(value)), value) if isinstance(value, dict) and next(iter(value)) in TABLES else []
        found += [] if isinstance(value, dict) else faults("openings", value)
    else:
        found = faults("bike" if folder == "bikes" else "parts", value)
    assert bool(found) is (name not in BEYOND_SCHEMAS[folder])


@pytest.mark.parametrize("name", ["unknown-word", "unknown-type-of-a-place"])
def test_the_schemas_know_the_words(name: str) -> None:
    assert faults("parts", _read_without_stages(BAD / "parts" / f"{name}.yaml"))
