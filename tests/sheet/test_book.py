"""The bound sheet: equal bytes, no sheet without a plan."""

import pytest

from setupassist.errors import NoPlan
from setupassist.sheet.book import setup_sheet


def test_equal_content_gives_equal_bytes(make_ordinary):
    assert setup_sheet(make_ordinary(), paper="a4", units="inch") == setup_sheet(
        make_ordinary(), paper="a4", units="inch"
    )


def test_no_plan_no_sheet(infeasible):
    with pytest.raises(NoPlan, match="nine screens on eight heads"):
        setup_sheet(infeasible, paper="a4", units="inch")


def test_unknown_paper_is_refused(ordinary):
    with pytest.raises(ValueError, match="a4 or letter"):
        setup_sheet(ordinary, paper="a3", units="inch")
