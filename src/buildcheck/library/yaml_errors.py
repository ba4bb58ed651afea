"""The YAML parser's complaints, in words that say what to do."""

from __future__ import annotations

import yaml

from buildcheck.library.problems import FileLine, Problem, shown

DEEPEST_NESTING = 40

TOO_DEEP = f"values are nested more than {DEEPEST_NESTING} deep: expected far less; is a bracket left open?"
BAD_ESCAPE = r'an escape in this "…" stands for no character: write the character itself, or as \U0001F6B2'


def in_plain_words(error: yaml.MarkedYAMLError, text: str, file: str) -> Problem:
    """What the parser complains of, at the place in the file where a writer would look."""
    lines = text.splitlines() or [""]
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line, mark.column) if mark else (0, 0)
    at_end = not any(rest.strip() for rest in [*(row[column:] for row in lines[line : line + 1]), *lines[line + 1 :]])
    char = lines[line][column : column + 1] if line < len(lines) else ""
    if at_end:  # the parser may point below the last line: point just after the last word instead
        line = max((number for number, row in enumerate(lines) if row.strip()), default=0)
        column = len(lines[line].rstrip())
    place = FileLine(file, line + 1, column + 1)
    begun = place
    if error.context_mark is not None:
        begun = FileLine(file, error.context_mark.line + 1, error.context_mark.column + 1)
    words, at_beginning = _explain(error.problem or "", error.context or "", char, at_end, begun.line)
    return Problem(begun if at_beginning else place, words, "syntax")


def _explain(  # noqa: C901  one case after another, the first that fits
    problem: str, context: str, char: str, at_end: bool, begun: int
) -> tuple[str, bool]:
    """What to say, and whether to point at the beginning of what went wrong rather than its end.

    libyaml and the pure parser word things a little differently, so only words common to both are looked for.
    """
    if char == "\t" and ("cannot start" in problem or "indentation" in problem):
        return "a tab is used to indent: expected spaces, the only indentation in YAML", False
    if "nesting depth" in problem:
        return TOO_DEEP, False
    if "quoted scalar" in context:
        if "end of stream" in problem or "document" in problem:
            return "this quote is never closed: expected the same quote again at the end of the text", True
        if "unknown escape" in problem:
            return (
                r'this "\" begins no escape known to YAML: write \\ for a backslash, or use single quotes',
                False,
            )
        return BAD_ESCAPE, False
    for kind, what, opening, closing in (("sequence", "list", "[", "]"), ("mapping", "mapping", "{", "}")):
        if f"flow {kind}" in context:
            if at_end:
                return (
                    f'this "{opening}" is never closed: expected "{closing}" before the end of the file',
                    True,
                )
            hint = ""
            if kind == "mapping" and char == ":":
                hint = " (a key and its colon go on one line, within 1,024 characters)"
            return (
                f'expected "," or "{closing}" in the {what} opened with "{opening}" on line {begun}{hint}',
                False,
            )
    if "cannot start" in problem:
        return f"a value cannot begin with {shown(char)}: expected the whole text in quotes", False
    if "mapping values" in problem:
        return (
            'a colon is out of place: expected one "key: value" a line, the keys of one mapping in line, '
            "and any text which contains a colon and a space in quotes"
        ), False
    if "sequence entries" in problem or "mapping keys" in problem:
        return f'"{char} " is out of place: expected it to begin a line of its own, below the key', False
    if char == ":":
        return "a space is missing: expected one after the colon", False
    if "simple key" in context:
        return 'expected ":" and a space after this key, on the same line and within 1,024 characters', True
    if "block mapping" in context:
        return (
            f"expected the next key in line with the other keys of the mapping begun on line {begun}; either "
            "the indentation is off or there is something after a closing quote or bracket"
        ), False
    if "block collection" in context or "block sequence" in context:
        return f'expected the next "- " in line with the others of the list begun on line {begun}', False
    if "block scalar" in context:
        return 'expected the line to end after "|" or ">": the text goes on the lines below, indented', False
    if "anchor" in context or "alias" in context:
        return (
            'a value cannot begin with "*" or "&" (no references are read): expected the text in quotes',
            True,
        )
    if "tag" in context.lower() or "tag" in problem.lower():
        return (
            'a value cannot begin with "!", except for a tag such as !!str: expected the text in quotes',
            True,
        )
    if "directive" in context or "directive" in problem or "YAML document" in problem:
        return (
            'a "%" line is out of place: expected none, or "%YAML 1.2" at the very top and "---" below',
            False,
        )
    if "document start" in problem:
        return "there is more text after the end of the value: expected the end of the file", False
    if "node content" in problem or "node" in context:
        if at_end and not char:
            return "the file ends where a value is expected: is it cut short, or a bracket left open?", False
        return f"expected a value here, but found {shown(char)}", False
    return f"cannot be read as YAML here: {shown(' '.join((context, problem)).strip())}", False
