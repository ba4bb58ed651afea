"""All documents against the tree: paths, links, layers, rules, make targets, invented names."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

import readme
from buildcheck.library.catalogue import load

ROOT = Path(__file__).resolve().parent.parent
DOCUMENTS = {
    readme.shown(path): path.read_text(encoding="utf-8")
    for path in (*readme.DOCUMENTS, ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md")
}
README, DEVELOPERS = DOCUMENTS["README.md"], DOCUMENTS["DEVELOPERS.md"]
EXAMPLES = readme.files(DOCUMENTS.values())
# Made by commands, or by the reader.
MADE = ("demo-out/", "bench-out/", ".venv", "FOLDER/", "my-", "outline/")


def code_words(text: str) -> set[str]:
    """What stands between backticks outside code blocks."""
    return set(re.findall(r"`([^`\n]+)`", re.sub(r"^```.*?^```$", "", text, flags=re.M | re.S)))


def paths(text: str) -> list[str]:
    """The paths among them; a short one such as fit/joints.py is meant from src/buildcheck."""
    shape = re.compile(r"[\w.*-]+(?:/[\w.*-]+)*/?")
    words = (word for word in code_words(text) if "/" in word or word.endswith((".py", ".toml")))
    return sorted(word for word in words if shape.fullmatch(word) and not word.startswith(MADE) and "*" not in word)


# The changes of earlier versions name what was there then.
NAMED = sorted({path for name, text in DOCUMENTS.items() if name != "CHANGELOG.md" for path in paths(text)})


@pytest.mark.parametrize("path", NAMED)
def test_a_path_that_is_named_is_there(path: str) -> None:
    places = (ROOT / path, ROOT / "src" / "buildcheck" / path, ROOT / "src" / "buildcheck" / "rules" / path)
    assert any(place.exists() for place in places)


def _anchors(text: str) -> set[str]:
    """The anchors that the headings of a document get where it is shown."""
    headings = re.findall(r"^#+ (.+)$", re.sub(r"^```.*?^```$", "", text, flags=re.M | re.S), re.M)
    return {re.sub(r"[^\w -]", "", heading.casefold()).replace(" ", "-") for heading in headings}


def _links() -> list[tuple[str, str]]:
    return [
        (name, target) for name, text in DOCUMENTS.items()
        for target in re.findall(r"\]\(([^)\s]+)\)", re.sub(r"^```.*?^```$", "", text, flags=re.M | re.S))
    ]  # fmt: skip


@pytest.mark.parametrize(("name", "target"), _links())
def test_a_link_leads_somewhere(name: str, target: str) -> None:
    file, _, anchor = target.partition("#")
    path = ((ROOT / name).parent / file).resolve() if file else ROOT / name
    assert path.is_file()
    assert not anchor or anchor in _anchors(DOCUMENTS[readme.shown(path)])


def test_readme_leads_to_every_document() -> None:
    assert set(DOCUMENTS) - {"README.md"} <= {target for name, target in _links() if name == "README.md"}


def test_paths_are_found_at_all() -> None:
    assert {"catalog/standards/", "fit/joints.py", "tests/laws/", "pyproject.toml"} <= set(paths(DEVELOPERS))


def test_each_file_of_rules_is_named() -> None:
    files = sorted(path.name for path in (ROOT / "src" / "buildcheck" / "rules").glob("[!_]*.py"))
    assert len(files) >= 6
    assert [name for name in files if f"`src/buildcheck/rules/{name}`" not in DEVELOPERS] == []


def test_each_folder_of_the_source_is_named() -> None:
    folders = sorted(path.parent.name for path in (ROOT / "src" / "buildcheck").glob("*/__init__.py"))
    assert [name for name in folders if f"`src/buildcheck/{name}/`" not in DEVELOPERS] == []


def test_the_layers_are_those_of_the_contract() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    (contract,) = (each for each in settings["tool"]["importlinter"]["contracts"] if each["type"] == "layers")
    assert f"`{' > '.join(contract['layers'])}`" in " ".join(DEVELOPERS.split())


def test_make_targets_are_those_of_the_makefile() -> None:
    makefile = (ROOT / "Makefile").read_text("utf-8")
    there = set(re.findall(r"^([a-z-]+):", makefile, re.M))
    told = {target for word in code_words(DEVELOPERS) for target in re.findall(r"^make ([a-z-]+)$", word)}
    assert told <= there
    assert there - told <= {"help"}


def test_part_ids_that_are_named_are_in_the_catalogue() -> None:
    catalogue = load()
    makers = {catalogue.part(part_id).maker.casefold() for part_id in catalogue.ids}
    assert len(makers) >= 8
    words = {word for text in DOCUMENTS.values() for word in re.findall(r"[a-z0-9]+(?:-[a-z0-9]+)+", text)}
    named = {word for word in words if word.partition("-")[0] in makers}
    own = "".join(EXAMPLES.values())
    unknown = sorted(word for word in named - set(catalogue.ids) if f"id: {word}\n" not in own)
    assert len(named) >= 8
    assert unknown == []


@pytest.mark.parametrize("name", sorted(DOCUMENTS))
def test_lines_are_short_enough_to_read(name: str) -> None:
    prose = re.sub(r"^```.*?^```$", "", DOCUMENTS[name], flags=re.M | re.S)
    long = [line for line in prose.splitlines() if len(line) > 140 and not line.startswith(("|", "<!--"))]
    assert long == []


def test_the_map_is_short() -> None:
    assert len(DEVELOPERS.split()) < 2500  # ten to fifteen minutes


def test_the_cautions_are_told() -> None:
    cautions = README.split("## Cautions")[1].split("\n## ")[0]
    for word in ("hurt", "makers'", "rules of your country", "qualified mechanic", "torque wrench"):
        assert word in " ".join(cautions.split())
