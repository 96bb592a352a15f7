"""One cache for all cases of a run, so that a complaint's machines are simulated once."""

import pytest


@pytest.fixture(scope="session")
def shelf(tmp_path_factory):
    """Folder of populations for this run."""
    return tmp_path_factory.mktemp("shelf")
