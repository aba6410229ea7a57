"""Settings every test shares: no screen, no clock, no luck."""

from __future__ import annotations

import os
from collections.abc import Iterator

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "house",
    deadline=None,
    derandomize=True,
    max_examples=40,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.load_profile("house")


@pytest.fixture(autouse=True, scope="session")
def _own_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the tester's own settings and state out of the tests, and the tests out of them."""
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME"):
            patch.setenv(name, str(home / name.lower()))
        yield


@pytest.fixture(autouse=True, scope="session")
def _widgets_first(request: pytest.FixtureRequest) -> None:
    """On several cores files come in any order; widgets need an application made for them."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        request.getfixturevalue("qapp")


@pytest.fixture(autouse=True)
def _nothing_left(request: pytest.FixtureRequest) -> Iterator[None]:
    """After every test of the window: no thread, widget or running timer is left behind."""
    yield
    if request.module.__name__.startswith("test_app"):
        from PySide6.QtWidgets import QApplication

        from app_help import assert_nothing_left

        application = QApplication.instance()
        if isinstance(application, QApplication):
            assert_nothing_left(application)
