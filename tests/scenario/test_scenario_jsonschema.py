"""The generated JSON Schema is fresh, and agrees with the reader on what is right and what is wrong."""

from __future__ import annotations

import json

from mci.scenario.jsonschema import SCHEMA_FILE, json_schema


def test_stored_schema_is_fresh():
    """The stored file is what the code generates: run ``python -m mci.scenario.jsonschema`` after a change."""
    assert json.loads(SCHEMA_FILE.read_text(encoding="utf-8")) == json_schema()


def test_schema_offers_names_and_refuses_unknown_keys():
    """An editor can offer categories and catalogue names, and marks a key that is not known."""
    schema = json_schema()
    batch = schema["$defs"]["Batch"]
    assert batch["additionalProperties"] is False
    assert batch["properties"]["category"]["enum"] == ["immediate", "delayed", "minimal", "expectant"]
    assert "high need" in batch["properties"]["ladder"]["anyOf"][0]["enum"]
    assert "US E aluminium" in schema["$defs"]["Cylinders"]["properties"]["cylinder"]["anyOf"][0]["enum"]
    assert {"incident", "areas", "devices", "resupply"} == set(schema["required"])
    assert schema["anyOf"] == [{"required": ["patients"]}, {"required": ["exercise"]}]


def test_every_key_is_described():
    """Each key of each mapping tells what it means."""
    schema = json_schema()
    shapes = [schema, *schema["$defs"].values()]
    bare = [
        (shape.get("title", shape.get("description")), key)
        for shape in shapes
        for key, value in shape.get("properties", {}).items()
        if "description" not in value and "$ref" not in value
    ]
    assert bare == []
