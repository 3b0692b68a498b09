"""Whether a value keeps a JSON Schema: exactly the words that our schemas use, and no other.

The words mean what they mean in JSON Schema, draft 2020-12.
"""

import re

NOTES = {"$schema", "$defs", "title", "description", "examples", "x-quantity"}
#: Kinds of value of JSON; a yes is no number.
TYPES = {
    "object": lambda v: isinstance(v, dict),
    "array": lambda v: isinstance(v, list),
    "string": lambda v: isinstance(v, str),
    "boolean": lambda v: isinstance(v, bool),
    "number": lambda v: isinstance(v, (int, float)) and not isinstance(v, bool),
    "integer": lambda v: isinstance(v, int) and not isinstance(v, bool),
}


def size(value, kind):
    return len(value) if isinstance(value, kind) else None


WORDS = {
    "type": lambda s, v: TYPES[s](v),
    "enum": lambda s, v: v in s,
    "const": lambda s, v: v == s,
    "minLength": lambda s, v: size(v, str) is None or len(v) >= s,
    "maxLength": lambda s, v: size(v, str) is None or len(v) <= s,
    "pattern": lambda s, v: not isinstance(v, str) or re.search(s, v) is not None,
    "minimum": lambda s, v: not TYPES["number"](v) or v >= s,
    "maximum": lambda s, v: not TYPES["number"](v) or v <= s,
    "exclusiveMinimum": lambda s, v: not TYPES["number"](v) or v > s,
    "minItems": lambda s, v: size(v, list) is None or len(v) >= s,
    "maxItems": lambda s, v: size(v, list) is None or len(v) <= s,
    "uniqueItems": lambda s, v: not s or size(v, list) is None or len(set(map(str, v))) == len(v),
    "items": lambda s, v: size(v, list) is None or all(fits(s, each) for each in v),
    "required": lambda s, v: size(v, dict) is None or set(s) <= set(v),
    "propertyNames": lambda s, v: size(v, dict) is None or all(fits(s, name) for name in v),
    "anyOf": lambda s, v: any(fits(each, v) for each in s),
    "oneOf": lambda s, v: sum(fits(each, v) for each in s) == 1,
    "allOf": lambda s, v: all(fits(each, v) for each in s),
    "not": lambda s, v: not fits(s, v),
}
TOGETHER = {"properties", "patternProperties", "additionalProperties", "if", "then", "else"}


def fits(schema, value):
    """Return whether a value keeps a schema."""
    assert set(schema) <= set(WORDS) | NOTES | TOGETHER, set(schema)
    if not all(WORDS[word](rule, value) for word, rule in schema.items() if word in WORDS):
        return False
    if "if" in schema and not fits(schema["then" if fits(schema["if"], value) else "else"], value):
        return False
    return not isinstance(value, dict) or fits_members(schema, value)


def fits_members(schema, value):
    named, patterns = schema.get("properties", {}), schema.get("patternProperties", {})
    for name, member in value.items():
        rules = [named[name]] if name in named else []
        rules += [rule for pattern, rule in patterns.items() if re.search(pattern, name)]
        if not rules and schema.get("additionalProperties") is False:
            return False
        if not all(fits(rule, member) for rule in rules):
            return False
    return True
