"""A report or a job card as JSON; their schemas are schemas/report.schema.json and schemas/job.schema.json."""

from __future__ import annotations

import json

from pydantic import TypeAdapter

from buildcheck.model.job import JobCard
from buildcheck.model.report import ChangeItem, Report


def report_json(report: Report) -> str:
    """The whole report, keys in a fixed order, with a newline at the end."""
    return _json(report)


def job_json(card: JobCard) -> str:
    """The whole card, keys in a fixed order, with a newline at the end."""
    return _json(card)


def _change(item: ChangeItem) -> dict[str, str]:
    if item.take_off:
        return {"take_off": item.position}
    if item.renew is not None:
        return {"renew": item.position, "part": item.renew}
    if item.fit is not None:
        return {"fit": item.fit, "position": item.position, **item.where}
    return {"move": item.position, **item.where}


def _json(record: Report | JobCard) -> str:
    plain = TypeAdapter(type(record)).dump_python(record, mode="json")
    plain["change"] = [_change(item) for item in record.change]
    ordered = {"schema_version": plain.pop("schema_version"), **plain}
    return json.dumps(ordered, indent=2, ensure_ascii=False) + "\n"
