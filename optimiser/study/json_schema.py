"""A JSON Schema made from the catalogue of keys, by which an editor completes and checks a file while it is written.

It says what the walk through a file's keys says (`walk.py`): names of keys, kinds of values, ranges, counts. What needs
more than the key itself, such as a name that must stand elsewhere in the file, only the reader knows. Draft 7 is what
editors of YAML read: https://json-schema.org/draft-07/json-schema-validation
"""

import re

from optimiser.study.document import Tree
from optimiser.study.forms import (
    Choice,
    Flag,
    Form,
    Listing,
    Loose,
    Many,
    Named,
    Naming,
    Number,
    OneOf,
    Section,
    Text,
    Variants,
    expectation,
)
from optimiser.study.scalars import SWITCHES
from optimiser.study.walk import NAME

DRAFT = "http://json-schema.org/draft-07/schema#"
"""The draft's own name for itself."""

ONE_LINE = r"^[^\n\r]*\S[^\n\r]*$"
"""Text in one line with something in it."""

Schema = dict[str, Tree]


def schema_of(form: Section, title: str) -> Schema:
    """The schema of a file whose root has this form; unknown keys are faults of it, as they are the reader's."""
    return {"$schema": DRAFT, "title": title, **_schema(form)}


def _schema(form: Form) -> Schema:
    found: Schema = {}
    match form:
        case Number():
            found = {**_number(form), "description": expectation(form)}
        case Text():
            found = {"type": "string", "pattern": ONE_LINE, "description": expectation(form)}
        case Choice(words=words):
            found = {"enum": list(words)}
        case Naming():
            found = {"type": "string", "pattern": ONE_LINE, "description": expectation(form)}
        case Flag():
            found = {"type": "boolean"}
        case Listing(item=item, count=count):
            found = {**_list(item, count, count), "description": expectation(form)}
        case Many(item=item, least=least, most=most):
            found = {**_list(item, least, most), "description": f"a list of {form.what}s"}
        case Section():
            found = _section(form)
        case Named():
            found = _named(form)
        case OneOf(forms=forms):
            found = {"anyOf": [_schema(one) for one in forms]}
        case Variants(sections=sections):
            found = {"type": "object", "oneOf": [_schema(section) for section in sections.values()]}
        case Loose():
            pass
    return found


def _number(form: Number) -> Schema:
    limits: dict[str, float | None] = {"minimum": form.low, "maximum": form.high, "exclusiveMinimum": form.above}
    kind: Schema = {"type": "integer" if form.whole else "number"}
    return kind | {word: limit for word, limit in limits.items() if limit is not None}


def _list(item: Form, least: int, most: int) -> Schema:
    return {"type": "array", "items": _schema(item), "minItems": least, "maxItems": most}


def _section(form: Section) -> Schema:
    return {
        "type": "object",
        "description": form.about,
        "properties": {name: _schema(key.form) for name, key in form.keys.items()},
        "required": [name for name, key in form.keys.items() if key.required],
        "additionalProperties": False,
    }


def _named(form: Named) -> Schema:
    plain = {name: _schema(special) for name, special in form.special.items() if "*" not in name}
    starred = {_pattern(name): _schema(special) for name, special in form.special.items() if "*" in name}
    names: Schema = {} if form.dotted else {"propertyNames": _free_name(form)}
    return {
        "type": "object",
        "description": expectation(form),
        "properties": dict(plain),
        "patternProperties": dict(starred),
        "additionalProperties": _schema(form.item),
        "minProperties": form.least,
        "maxProperties": form.most,
        **names,
    }


def _free_name(form: Named) -> Schema:
    switches = {write(word) for word in SWITCHES for write in (str.lower, str.title, str.upper)}
    taken: list[Tree] = [*sorted(form.reserved | switches)]
    return {"pattern": f"^{NAME.pattern}$", "not": {"enum": taken}}


def _pattern(name: str) -> str:
    """A pattern of names with `*` for anything, as the schema's regular expression."""
    return "^" + re.escape(name).replace(r"\*", ".*") + "$"
