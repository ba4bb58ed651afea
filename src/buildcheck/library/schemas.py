"""schemas/: JSON Schemas made from the records, for editors and for tests that hold them equal.

A bike and a file of parts refer to part.schema.json by its file name, so that the folder works wherever it lies.
"""

from __future__ import annotations

import json
from typing import Any

from pydantic import TypeAdapter
from pydantic.json_schema import models_json_schema

from buildcheck.library.standards import TABLES
from buildcheck.model.bikes import BikeFile
from buildcheck.model.choices import Choices
from buildcheck.model.job import JobCard
from buildcheck.model.parts import RECORD_CLASSES, Part
from buildcheck.model.report import Report
from buildcheck.model.standards import Standards
from buildcheck.model.texts import TextFile

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_DEFINITIONS = "#/$defs/"
_PART = "part.schema.json"
_WIDTH = 120  # columns, our choice: that of the code


def all_schemas(standards: Standards) -> dict[str, str]:
    """File name to text of each schema."""
    schemas: dict[str, dict[str, Any]] = {
        _PART: _part(),
        "parts.schema.json": _list_of("parts", {"$ref": _PART}, additionalProperties=False, required=["parts"]),
        "bike.schema.json": _bike(),
        "report.schema.json": _report(Report),
        "job.schema.json": _report(JobCard),
        "texts.schema.json": _plain(TextFile.model_json_schema()) | {"title": "A file of texts"},
        "choices.schema.json": _stated_whole(_plain(TypeAdapter(Choices).json_schema(mode="serialization"))),
        **{f"{name}.schema.json": _table(name, TypeAdapter(record).json_schema()) for name, record in TABLES.items()},
    }
    words = {
        row.id: sorted({str(word) for term in row.terms for word in (term.id, *term.also_called)})
        for row in standards.vocabularies.values()
    }
    words["interface"] = sorted(standards.interfaces)
    return {
        name: _written({"$schema": DIALECT, "$id": name, **_with_shared(schema, words)}) + "\n"
        for name, schema in sorted(schemas.items())
    }


def _part() -> dict[str, Any]:
    """What all parts have, and the facts of one kind; a key that neither knows is refused."""
    records: tuple[type[Part], ...] = (Part, *RECORD_CLASSES)
    _, schema = models_json_schema([(record, "validation") for record in records])
    definitions: dict[str, Any] = _plain(schema)["$defs"]
    common = definitions[Part.__name__]
    del common["additionalProperties"]
    for record in RECORD_CLASSES:
        definitions[record.__name__] = _beyond(common, definitions[record.__name__])
    return {
        "title": "One part",
        "allOf": [{"$ref": _DEFINITIONS + Part.__name__}],
        "oneOf": [{"$ref": _DEFINITIONS + record.__name__} for record in RECORD_CLASSES],
        "unevaluatedProperties": False,
        "$defs": definitions,
    }


def _beyond(common: dict[str, Any], whole: dict[str, Any]) -> dict[str, Any]:
    """What a kind has beyond that which all parts have."""
    shared, required = common["properties"], [name for name in whole["required"] if name not in common["required"]]
    return {
        "description": whole["description"],
        "properties": {name: value for name, value in whole["properties"].items() if value != shared.get(name)},
        **({"required": required} if required else {}),
    }


def _list_of(name: str, item: dict[str, Any], **more: Any) -> dict[str, Any]:
    table = {"type": "array", "items": item}
    return {"title": f"A file of {name}", "type": "object", "properties": {name: table}, **more}


def _table(name: str, row: dict[str, Any]) -> dict[str, Any]:
    """A table may stand in a file with others, so other keys are not refused."""
    item = _plain(row)
    definitions = item.pop("$defs", {})
    return _list_of(name, item, **{"$defs": definitions})


def _bike() -> dict[str, Any]:
    schema: dict[str, Any] = _plain(BikeFile.model_json_schema(by_alias=True))
    schema["properties"]["own_parts"]["items"] = {"$ref": _PART}
    schema["anyOf"] = [{"required": ["like"]}, {"required": schema.pop("required")}]  # the rest as on the other bike
    return schema


def _report(record: type) -> dict[str, Any]:
    schema: dict[str, Any] = _plain(TypeAdapter(record).json_schema(mode="serialization"))
    schema["$defs"]["ChangeItem"] = {
        "description": "A part to fit at a position, one to put in new, one to move, or a position to empty.",
        "oneOf": [
            _closed_object({"fit": _TEXT, "position": _TEXT}, _WHERE),
            _closed_object({"renew": _TEXT, "part": _TEXT}),
            _closed_object({"move": _TEXT}, _WHERE),
            _closed_object({"take_off": _TEXT}),
        ],
    }
    return _stated_whole(schema)


def _stated_whole(schema: dict[str, Any]) -> dict[str, Any]:
    """An answer states everything that it could state, so that a reader need not guess at defaults."""
    for record in (schema, *schema["$defs"].values()):
        if "properties" in record:
            record.update(required=sorted(record["properties"]), additionalProperties=False)
    return schema


_TEXT = {"type": "string"}
# Where a part goes, as far as that was said.
_WHERE = dict.fromkeys(("on", "place", "from", "to"), _TEXT)


def _closed_object(properties: dict[str, Any], optional: dict[str, Any] | None = None) -> dict[str, Any]:
    every = {**properties, **(optional or {})}
    return {"type": "object", "properties": every, "required": sorted(properties), "additionalProperties": False}


def _plain(schema: Any) -> Any:
    """Without titles that only repeat a name, and without the default null of what nobody knows."""
    if isinstance(schema, list):
        return [_plain(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    return {
        key: _plain(value)
        for key, value in schema.items()
        if not (key == "title" and isinstance(value, str)) and not (key == "default" and value is None)
    }


def _with_shared(schema: dict[str, Any], words: dict[str, list[str]]) -> dict[str, Any]:
    """What many fields have in common stands once: the forms of a fact, and the words of a vocabulary for an editor
    to offer."""
    used: dict[str, Any] = {}
    result: dict[str, Any] = _referring(schema, words, used)
    definitions = {**result.pop("$defs", {}), **used}
    return {**result, **({"$defs": definitions} if definitions else {})}


def _referring(schema: Any, words: dict[str, list[str]], used: dict[str, Any]) -> Any:
    if isinstance(schema, list):
        return [_referring(item, words, used) for item in schema]
    if not isinstance(schema, dict):
        return schema
    vocabulary, own = schema.get("x-vocabulary"), {}
    if vocabulary in words:
        name, shared = f"words-{vocabulary}", _words(words[vocabulary])
    elif "x-shared" in schema:
        name = schema["x-shared"]
        own = {key: schema[key] for key in ("description", "default") if key in schema}
        shared = {key: value for key, value in schema.items() if key not in ("x-shared", *own)}
    else:
        return {key: _referring(value, words, used) for key, value in schema.items()}
    used[name] = _referring(shared, words, used)
    return {"$ref": _DEFINITIONS + name, **own}


def _words(words: list[str]) -> dict[str, Any]:
    numbers = [float(word) if "." in word else int(word) for word in words if _is_number(word)]
    return {"enum": [*words, *numbers, "unknown"]}


def _is_number(word: str) -> bool:
    return word.replace(".", "", 1).isdigit()


def _written(node: Any, indent: str = "", before: str = "") -> str:
    """JSON with keys in order: on one line what fits there, else each member on a line of its own."""
    line = json.dumps(node, ensure_ascii=False, sort_keys=True)
    if not isinstance(node, (dict, list)) or len(f"{indent}{before}{line},") <= _WIDTH:
        return before + line
    deeper = indent + " "
    if isinstance(node, dict):
        members = [_written(node[key], deeper, f"{json.dumps(key)}: ") for key in sorted(node)]
    else:
        members = [_written(item, deeper) for item in node]
    inside = ",\n".join(deeper + member for member in members)
    return f"{before}{line[0]}\n{inside}\n{indent}{line[-1]}"
