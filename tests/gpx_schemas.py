"""The published schemas of GPX 1.0 and 1.1, as the PyPI package ``trailer`` (MIT) ships them.

The package's own code is not used: it is found, never imported.
"""

from __future__ import annotations

from importlib.metadata import files

from lxml import etree


def gpx_schema(version: str) -> etree.XMLSchema:
    """Read the schema of GPX ``1.0`` or ``1.1``."""
    name = f"gpx_{version.replace('.', '_')}.xsd"
    (path,) = [one for one in files("trailer") or () if one.name == name]
    return etree.XMLSchema(etree.parse(path.locate()))
