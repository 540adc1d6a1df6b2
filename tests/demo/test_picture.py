"""The README's picture is what the program draws of the demo's etching.

`python -m tests.demo.test_picture` stores it anew, after a change to drawings or to the demo.
"""

from pathlib import Path

from schemas.estimates.answer import estimate_document
from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from schemas.wire.figures import plain
from service.demo import demo_catalogue, demo_jobs, demo_labour_standard, demo_price_list, demo_shop
from service.domain.estimates.calculation import Basis, estimate_request
from service.printing.quotes.html import quote_drawing

TOP = Path(__file__).parents[2]
PICTURE = TOP / "service" / "demo" / "harbour_etching.svg"


def drawn() -> str:
    """What `GET /v1/quotes/{number}/drawing.svg` answers for this job."""
    shop = demo_shop()
    basis = Basis(shop, demo_catalogue(), demo_labour_standard(), demo_price_list())
    asked = read(QUOTE_REQUEST, demo_jobs()["harbour_etching"], unit=shop.ruler.unit)
    answer = plain(estimate_document(estimate_request(asked.jobs, basis, asked.conditions)))
    return quote_drawing(answer["jobs"][0], shop.ruler)


def test_the_stored_picture_is_what_the_program_draws():
    assert PICTURE.read_text(encoding="utf-8") == drawn() + "\n"


def test_the_readme_shows_it():
    readme = (TOP / "README.md").read_text(encoding="utf-8")
    assert f"({PICTURE.relative_to(TOP).as_posix()})" in readme


if __name__ == "__main__":
    PICTURE.write_text(drawn() + "\n", encoding="utf-8")
