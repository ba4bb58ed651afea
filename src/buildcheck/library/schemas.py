"""schemas/: JSON Schemas made from the records, for editors and for tests that hold them equal."""

from __future__ import annotations

import json
from typing import Annotated, Any, Union

from pydantic import Field, TypeAdapter

from buildcheck.library.standards import TABLES
from buildcheck.model.bikes import BikeFile
from buildcheck.model.choices import Choices
from buildcheck.model.job import JobCard
from buildcheck.model.parts import RECORD_CLASSES
from buildcheck.model.report import Report
from buildcheck.model.standards import Standards
from buildcheck.model.texts import TextFile

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def all_schemas(standards: Standards) -> dict[str, str]:
    """File name to text of each schema."""
    any_part = Annotated[Union[RECORD_CLASSES], Field(discriminator="kind")]  # type: ignore[valid-type]  # noqa: UP007
    part = TypeAdapter(any_part).json_schema()
    schemas: dict[str, dict[str, Any]] = {
        "part.schema.json": {"title": "One part", **part},
        "parts.schema.json": _list_of("parts", part),
        "bike.schema.json": _bike(part),
        "report.schema.json": _report(Report),
        "job.schema.json": _report(JobCard),
        "texts.schema.json": {**TextFile.model_json_schema(), "title": "A file of texts"},
        "choices.schema.json": _stated_whole(TypeAdapter(Choices).json_schema(mode="serialization")),
        **{f"{name}.schema.json": _list_of(name, TypeAdapter(record).json_schema()) for name, record in TABLES.items()},
    }
    words = {
        row.id: sorted({str(word) for term in row.terms for word in (term.id, *term.also_called)})
        for row in standards.vocabularies.values()
    }
    words["interface"] = sorted(standards.interfaces)
    return {name: _text(_with_vocabularies(schema, words)) for name, schema in sorted(schemas.items())}


def _list_of(name: str, item: dict[str, Any]) -> dict[str, Any]:
    definitions = item.get("$defs", {})
    plain = {key: value for key, value in item.items() if key != "$defs"}
    table = {"type": "array", "items": plain}
    return {
        "title": f"A file of {name}",
        "type": "object",
        "properties": {name: table},
        "additionalProperties": name != "parts",
        **({"required": ["parts"]} if name == "parts" else {}),
        "$defs": definitions,
    }


def _bike(part: dict[str, Any]) -> dict[str, Any]:
    schema = BikeFile.model_json_schema(by_alias=True)
    schema["properties"]["own_parts"]["items"] = {key: value for key, value in part.items() if key != "$defs"}
    schema["$defs"] = {**schema.get("$defs", {}), **part.get("$defs", {})}
    return schema


def _report(record: type) -> dict[str, Any]:
    schema = TypeAdapter(record).json_schema(mode="serialization")
    schema["$defs"]["ChangeItem"] = {
        "title": "ChangeItem",
        "description": "A part to fit at a position, or a position to empty.",
        "oneOf": [
            _closed_object({"fit": {"type": "string"}, "position": {"type": "string"}}),
            _closed_object({"take_off": {"type": "string"}}),
        ],
    }
    return _stated_whole(schema)


def _stated_whole(schema: dict[str, Any]) -> dict[str, Any]:
    """An answer states everything that it could state, so that a reader need not guess at defaults."""
    for record in (schema, *schema["$defs"].values()):
        if "properties" in record:
            record.update(required=sorted(record["properties"]), additionalProperties=False)
    return schema


def _closed_object(properties: dict[str, Any]) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": sorted(properties), "additionalProperties": False}


def _with_vocabularies(schema: dict[str, Any], words: dict[str, list[str]]) -> dict[str, Any]:
    """Tell each field that names a vocabulary which words it has, so that an editor can offer them."""
    used: dict[str, Any] = {}
    result: dict[str, Any] = _with_words(schema, words, used)
    if used:
        result["$defs"] = {**result.get("$defs", {}), **used}
    return result


def _with_words(schema: Any, words: dict[str, list[str]], used: dict[str, Any]) -> Any:
    if isinstance(schema, list):
        return [_with_words(item, words, used) for item in schema]
    if not isinstance(schema, dict):
        return schema
    vocabulary = schema.get("x-vocabulary")
    if vocabulary not in words:
        return {key: _with_words(value, words, used) for key, value in schema.items()}
    numbers = [float(word) if "." in word else int(word) for word in words[vocabulary] if _is_number(word)]
    used[f"words-{vocabulary}"] = {"enum": [*words[vocabulary], *numbers, "unknown"]}
    return {"$ref": f"#/$defs/words-{vocabulary}"}


def _is_number(word: str) -> bool:
    return word.replace(".", "", 1).isdigit()


def _text(schema: dict[str, Any]) -> str:
    return json.dumps({"$schema": DIALECT, **schema}, indent=1, ensure_ascii=False, sort_keys=True) + "\n"
