"""The shop of an import: found, updated by its own files, or created from them."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import click

from schemas.labour import ShopKeepingDocuments, load_labour_standard
from schemas.shop import read_shop
from service.app.keys.actor import Changing
from service.app.labour import change_standard, create_standard, use_standard
from service.app.shop import change_shop
from service.cli.export_files import SHOP_FILE, STANDARDS_FILE
from service.domain.errors import JobRefused, NotFound
from service.persistence.unit_of_work import UnitOfWork

DOCUMENTS = ShopKeepingDocuments()


def found_or_made(uow: UnitOfWork, code: str, paths: dict[str, Path], new_id: str) -> str:
    """Return the shop's id; a missing shop is created from its own file.

    Raises:
        NotFound: there is no such shop, and no file to create it from.
        ClickException: the file is invalid, or is that of another shop.
    """
    try:
        return uow.shops.by_code(code).id
    except NotFound:
        if SHOP_FILE not in paths:
            raise
    shop = _read(paths[SHOP_FILE], read_shop)
    if shop.code != code:
        raise click.ClickException(f"{SHOP_FILE} is that of {shop.code}, not of {code}")
    return uow.shops.add(new_id, shop).id


def store_settings(changing: Changing, paths: dict[str, Path]) -> None:
    """Store the differences in the shop's own files.

    Raises:
        Conflict: the settings are those of another shop.
        ClickException: a file is invalid.
    """
    uow, shop_id = changing.uow, changing.shop_id
    if SHOP_FILE in paths:
        shop = _read(paths[SHOP_FILE], read_shop)
        if uow.shops.by_id(shop_id).shop != shop:
            change_shop(changing, shop, lambda version: version, DOCUMENTS)
    if STANDARDS_FILE in paths:
        _read(paths[STANDARDS_FILE], lambda document: _standards(changing, document))


def _standards(changing: Changing, document: Any) -> None:
    known = {r.standard.code: r.standard for r in _records(changing)}
    for each in document["standards"]:
        standard = load_labour_standard(each)
        if standard.code not in known:
            create_standard(changing, standard, DOCUMENTS)
        elif known[standard.code] != standard:
            change_standard(changing, standard, lambda version: version, DOCUMENTS)
    if in_use := document["in_use"]:
        use_standard(changing, in_use, lambda version: version)


def _records(changing: Changing) -> Any:
    return changing.uow.labour_standards.records(changing.shop_id)


def _read(path: Path, load: Any) -> Any:
    """Return the content of a file.

    Raises:
        ClickException: it is invalid; every fault is named.
    """
    try:
        return load(json.loads(path.read_text(encoding="utf-8"), parse_float=Decimal))
    except JobRefused as refused:
        told = "\n".join(f"  {fault.pointer}: {fault.detail}" for fault in refused.faults())
        raise click.ClickException(f"{path.name} makes no sense:\n{told}") from refused
    except (ValueError, KeyError, TypeError) as error:
        told = f"{path.name} is not a file that `export` wrote: {error}"
        raise click.ClickException(told) from error
