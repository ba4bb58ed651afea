"""The job card as JSON; its schema is schemas/job.schema.json."""

from __future__ import annotations

import json

from pydantic import TypeAdapter

from buildcheck.model.job import JobCard


def job_json(card: JobCard) -> str:
    """The whole card, keys in a fixed order, with a newline at the end."""
    plain = TypeAdapter(JobCard).dump_python(card, mode="json")
    plain["change"] = [
        {"take_off": item["position"]} if item["take_off"] else {"fit": item["fit"], "position": item["position"]}
        for item in plain["change"]
    ]
    ordered = {"schema_version": plain.pop("schema_version"), **plain}
    return json.dumps(ordered, indent=2, ensure_ascii=False) + "\n"
