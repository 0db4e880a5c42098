"""What every test needs before it is gathered."""

import pytest

from pages import catalogues


def pytest_configure(config: pytest.Config) -> None:
    # Once, not in each worker process.
    if not hasattr(config, "workerinput"):
        catalogues.compile_all()
