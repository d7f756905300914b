"""What every test shares."""

import gc
import os
import re

import matplotlib
import matplotlib.font_manager
import pytest
from hypothesis import settings
from played import LESSONS, Far, Played, abroad

matplotlib.use("Agg")
# On a new machine this builds the font cache now; later the warning about it would end up in a notebook's output.
matplotlib.font_manager.findfont("DejaVu Sans")

# The same examples in every run, so that a red test is red again on the next machine. The weekly run searches
# for new ones with --hypothesis-profile=explore.
settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=60)
settings.register_profile("explore", deadline=None, max_examples=1000)
settings.load_profile("repeatable")


def pytest_collection_finish():
    """What was imported stays: to look through all of it for garbage again and again takes a twentieth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


@pytest.fixture(scope="session", params=LESSONS, ids=[path.stem for path in LESSONS])
def lesson(request):
    """The path of each lesson."""
    return request.param


@pytest.fixture(scope="session")
def far(tmp_path_factory):
    """A kernel far from home."""
    far = Far(abroad(tmp_path_factory.mktemp("abroad")), tmp_path_factory.mktemp("far"))
    yield far
    far.close()


@pytest.fixture(scope="session")
def played(lesson, far):
    """The lesson :class:`played.Played`. Who goes on in its kernel leaves its names alone or does so ``anew``."""
    return Played(lesson, far)


@pytest.hookimpl(optionalhook=True)  # .ci/mutate goes without xdist
def pytest_xdist_auto_num_workers():
    """One worker more than processors, as the one with a browser waits for much of its time."""
    return (os.cpu_count() or 1) + 1


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """On one worker: all that goes through one lesson, as it shares a kernel; all that shares a page of JupyterLab.

    Otherwise file by file.
    """
    from xdist.scheduler import LoadScopeScheduling

    class ByLesson(LoadScopeScheduling):
        def _split_scope(self, nodeid):
            file, *_ = nodeid.split("::")
            if "browser/live/" in file:
                return "live"
            lesson = re.search(r"\[(?:.*-)?(\d\d(?:_[a-z]+)+)(?:-.*)?\]$", nodeid)
            return lesson[1] if lesson and "browser" not in file else file

    return ByLesson(config, log)
