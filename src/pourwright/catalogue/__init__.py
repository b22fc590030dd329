"""Materials as data (ground floor): generic classes with ranges, sources and cautions.

Map
---
- `model`    `Material`, `Property`, `Price`.
- `tables`   TOML files to checked plain tables.
- `parse`    tables to materials, strictly; errors name file, material and key.
- `materials`  `load`, `get`, `of_kind`; a user's product files over the generic classes.
- `data/`    one TOML file or more per kind; the file name is the kind's plural.
"""

from pourwright.catalogue.materials import Catalogue, default, get, load, of_kind
from pourwright.catalogue.model import Material, Price, Property

__all__ = ["Catalogue", "Material", "Price", "Property", "default", "get", "load", "of_kind"]
