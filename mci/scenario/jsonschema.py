"""The JSON Schema of a scenario file, for completion and checks in an editor.

The schema beside this file is generated: ``python -m mci.scenario.jsonschema`` writes it anew, and
a test holds that it is fresh.
"""

from __future__ import annotations

import json
import pathlib
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from mci.catalogue.load import load_catalogue
from mci.catalogue.mechanisms import load_mechanisms
from mci.scenario.schema import ScenarioFile

__all__ = ["SCHEMA_FILE", "json_schema", "schema_text"]

SCHEMA_FILE = pathlib.Path(__file__).with_name("scenario.schema.json")


class _Plain(GenerateJsonSchema):
    """Leaves out the titles that are only names of fields again, and ``null`` that nobody writes."""

    def field_title_should_be_set(self, schema: Any) -> bool:  # noqa: ARG002
        """Return that no field needs a title besides its key."""
        return False

    def nullable_schema(self, schema: Any) -> Any:
        """Return the schema of what is written when something is written."""
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: Any) -> Any:
        """Return the schema without its default: what is left away is told in the description."""
        return self.generate_inner(schema["schema"])


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a scenario file."""
    catalogue = load_catalogue()
    names = {
        "ladder": list(catalogue.ladders),
        "device": list(catalogue.devices),
        "cylinder": list(catalogue.cylinders),
        "regulator": [key for key, outlets in catalogue.outlet_sets.items() if outlets.fits],
        "machine": list(catalogue.machines),
        "mechanism": list(load_mechanisms()),
    }
    schema = _offer(ScenarioFile.model_json_schema(schema_generator=_Plain), names)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "Oxygen supply scenario"}


def _offer(schema: Any, names: dict[str, list[str]]) -> Any:
    """Let an editor offer the names of the catalogue wherever one is wanted; the file's own are allowed too."""
    if isinstance(schema, list):
        return [_offer(part, names) for part in schema]
    if not isinstance(schema, dict):
        return schema
    if schema.get("$comment") in names:
        kept = {key: value for key, value in schema.items() if key not in ("$comment", "type")}
        return {**kept, "anyOf": [{"enum": names[schema["$comment"]]}, {"type": schema["type"]}]}
    return {key: _offer(part, names) for key, part in schema.items()}


def schema_text() -> str:
    """Return the text of the generated file."""
    return json.dumps(json_schema(), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8", newline="\n")
