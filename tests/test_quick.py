"""Which tests a quick run takes, on a small tree."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.quick import closest

TREE = {
    "service/domain/mat.py": "",
    "service/domain/sizes.py": "from service.domain.mat import border\n",
    "service/api/__init__.py": "from service.api import quotes\n",
    "service/api/quotes.py": "import service.domain.sizes\n",
    "service/api/page/page.css": "",
    "tests/conftest.py": "",
    "tests/api/conftest.py": "",
    "tests/api/test_quotes.py": "from service.api import quotes\n",
    "tests/api/test_keys.py": "from tests.api.world import ask\n",
    "tests/api/world.py": "from service.api import quotes\n",
    "tests/domain/test_mat.py": "from service.domain import mat\n",
    "tests/domain/test_sizes.py": "from service.domain.sizes import sizes\n",
    "tests/domain/test_value.py": "",
    "tests/deploy/test_backup.py": "from service.domain.mat import border\n",
    "deploy/backup.sh": "",
}


@pytest.fixture
def top(tmp_path: Path) -> Path:
    for name, text in TREE.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return tmp_path


def test_the_module_s_own_tests_come_first_and_then_those_that_reach_it(top: Path) -> None:
    assert closest(["service/domain/mat.py"], top) == [
        "tests/domain/test_mat.py",
        "tests/domain/test_sizes.py",
        "tests/api/test_quotes.py",
        "tests/api/test_keys.py",
    ]


@pytest.mark.parametrize(
    ("file", "first"),
    [
        ("tests/domain/test_value.py", ["tests/domain/test_value.py"]),
        ("tests/api/world.py", ["tests/api/test_keys.py"]),
        ("deploy/backup.sh", ["tests/deploy/test_backup.py"]),
        ("service/api/page/page.css", ["tests/api/test_quotes.py", "tests/api/test_keys.py"]),
        ("tests/api/conftest.py", ["tests/api/test_keys.py", "tests/api/test_quotes.py"]),
        ("README.md", []),
        ("service/domain/none.py", []),
    ],
)
def test_other_files_lead_to_tests_too(top: Path, file: str, first: list[str]) -> None:
    assert closest([file], top) == first


def test_what_takes_long_is_run_when_it_was_changed_itself(top: Path) -> None:
    assert closest(["tests/deploy/test_backup.py"], top) == ["tests/deploy/test_backup.py"]


def test_it_finds_its_way_in_this_tree() -> None:
    near = closest(["service/domain/labour/standard.py"])
    assert near[0] == "tests/domain/labour/test_standard.py"
    assert "tests/api/quotes/test_views.py" in near
    assert not [path for path in near if path.startswith("tests/deploy/")]
