"""The bound sheet: equal bytes, no sheet without a plan."""

import dataclasses

import pytest

from setupassist.errors import NoPlan
from setupassist.sheet.book import setup_sheet
from setupassist.words import words_in


def test_equal_content_gives_equal_bytes(make_ordinary):
    assert setup_sheet(make_ordinary(), paper="a4", units="inch") == setup_sheet(
        make_ordinary(), paper="a4", units="inch"
    )


def test_no_plan_no_sheet(infeasible):
    with pytest.raises(NoPlan, match="nine screens on eight heads"):
        setup_sheet(infeasible, paper="a4", units="inch")


def test_the_clash_is_told_in_the_language_of_the_face(infeasible):
    with pytest.raises(NoPlan) as caught:
        setup_sheet(infeasible, paper="a4", units="inch")
    assert words_in("es")(caught.value.args[0]).startswith("no hay plan que imprimir")
    bare = infeasible.plan.model_copy(update={"clash": None})
    with pytest.raises(NoPlan, match="these limits clash: not told"):
        setup_sheet(dataclasses.replace(infeasible, plan=bare), paper="a4", units="inch")


def test_unknown_paper_is_refused(ordinary):
    with pytest.raises(ValueError, match="a4 or letter"):
        setup_sheet(ordinary, paper="a3", units="inch")
