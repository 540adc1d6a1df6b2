"""One family of errors, each with a code and an answer of its own."""

from importlib import import_module
from pkgutil import walk_packages

import pytest

import service.domain
from service.api.http.problems import STATUS
from service.domain import errors
from service.domain.errors import DomainError, Fault, JobRefused

for module in walk_packages(service.domain.__path__, "service.domain."):
    import_module(module.name)


def family(root: type[DomainError] = DomainError) -> list[type[DomainError]]:
    """Every subclass that the domain itself defines."""
    found = []
    for kind in root.__subclasses__():
        if kind.__module__.startswith("service.domain"):
            found += [kind, *family(kind)]
    return found


def test_the_family_is_the_module():
    in_module = {
        kind
        for kind in vars(errors).values()
        if isinstance(kind, type) and issubclass(kind, DomainError) and kind is not DomainError
    }
    assert in_module <= set(family())
    assert len(in_module) >= 8


@pytest.mark.parametrize("kind", family(), ids=lambda kind: kind.__name__)
def test_every_error_has_a_code_of_its_own_or_its_parents(kind):
    assert kind.code != DomainError.code
    assert kind.code == kind.code.lower().replace(" ", "_")
    for other in family():
        related = issubclass(other, kind) or issubclass(kind, other)
        assert related or other.code != kind.code


@pytest.mark.parametrize("kind", family(), ids=lambda kind: kind.__name__)
def test_every_error_has_an_answer(kind):
    answers = [STATUS[above] for above in kind.__mro__ if above in STATUS]
    assert answers
    assert answers[0].value >= 400


SINGLE = [kind for kind in family() if kind.faults is DomainError.faults]


@pytest.mark.parametrize("kind", SINGLE, ids=lambda kind: kind.__name__)
def test_an_error_says_what_where_and_with_which_figures(kind):
    error = kind("what happened", "/jobs/0", {"given": "3"})
    assert str(error) == error.message == "what happened"
    assert error.facts == {"given": "3"}
    assert error.faults() == (Fault("/jobs/0", kind.code, "what happened"),)
    assert kind("alone").where == ""
    assert kind("alone").facts == {}


def test_a_refused_job_carries_every_fault_and_speaks_with_the_first():
    faults = [Fault("/a", "one", "first"), Fault("/b", "two", "second")]
    refused = JobRefused(iter(faults))
    assert refused.faults() == tuple(faults)
    assert (refused.message, refused.where) == ("first", "/a")


def test_a_fault_can_be_seen_from_further_out():
    assert Fault("/mats/0", "c", "d").under("/jobs/1") == Fault("/jobs/1/mats/0", "c", "d")
