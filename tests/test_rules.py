"""Every example in the rules holds: the rule fires on the one and stays quiet on the other."""

from __future__ import annotations

import pytest

from advisor.library.base import load
from advisor.reasoning.rulecheck import example_problem


@pytest.mark.parametrize("name", sorted(load().rules))
def test_the_examples_of(name: str) -> None:
    rule = load().rules[name]
    for example in rule.examples:
        assert example_problem(load(), rule, example) == ""
