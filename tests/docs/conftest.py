"""The scripts of the docs, as the tests load them."""

import importlib.util
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

DOCS = Path(__file__).resolve().parents[2] / "docs"


@pytest.fixture(scope="session")
def script() -> Callable[[str], ModuleType]:
    """Return what loads a script of the docs by its name."""

    def load(name: str) -> ModuleType:
        spec = importlib.util.spec_from_file_location(f"docs_{name}", DOCS / f"{name}.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[spec.name] = module  # its dataclasses look themselves up there
        spec.loader.exec_module(module)
        return module

    return load
