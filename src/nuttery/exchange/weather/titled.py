"""Columns of a table that are known by their exact titles, as archives write them."""

from collections.abc import Iterable

from nuttery.exchange.weather.clock import Stamps, Style, stamps
from nuttery.exchange.weather.errors import Account
from nuttery.exchange.weather.site import Site, place_number
from nuttery.exchange.weather.source import Source
from nuttery.exchange.weather.table import Table, clip, read_table


def titles_of(line: str) -> list[str]:
    """Titles of a header line with commas, in capitals and without quotes.

    Examples
    --------
    >>> titles_of('"STATION","Date"')
    ['STATION', 'DATE']
    """
    return [title.strip().strip('"').strip().upper() for title in line.split(",")]


def header_with(source: Source, wanted: Iterable[str], *, within: int = 40) -> int | None:
    """Index of the first line near the top that has all these titles; None if there is none."""
    needed = {title.upper() for title in wanted}
    lines = enumerate(source.lines[:within])
    return next((i for i, line in lines if needed <= set(titles_of(line))), None)


def known_table(source: Source, wanted: Iterable[str], account: Account) -> Table:
    """Table below the header that has all these titles.

    Raises
    ------
    WeatherFileError
        There is no such header.
    """
    titles = tuple(wanted)
    index = header_with(source, titles)
    if index is None:
        account.refuse(1, None, clip(source.lines[0]), f"a header with {', '.join(titles)}")
    return read_table(source, index, ",", account)


def need(table: Table, title: str) -> int:
    """Index of a column that the format's recogniser has seen."""
    index = table.index(title)
    if index is None:
        raise LookupError(title)
    return index


def column_stamps(table: Table, title: str, account: Account, *, style: Style) -> Stamps:
    """Times of the column of that title."""
    index = need(table, title)

    def place(i: int) -> tuple[int, str]:
        return table.lines[i], table.column(index)

    return stamps(table.columns[index], place, account, style=style)


def of_station(table: Table, title: str, wanted: str | None, account: Account) -> Table:
    """Rows of one station; a file of several needs one to be named.

    Raises
    ------
    WeatherFileError
        There are several stations and none was named, or not the one that was.
    """
    index = table.index(title)
    if index is None:
        return table
    cells = [cell.strip() for cell in table.columns[index]]
    known = sorted(set(cells))
    shown = ", ".join(known[:5])
    if wanted is None and len(known) > 1:
        line = table.lines[next(i for i, cell in enumerate(cells) if cell != cells[0])]
        account.refuse(
            line, table.column(index), f"{len(known)} stations ({shown})", "one; name it"
        )
    if wanted is None or not known or known == [wanted]:
        return table
    if wanted not in known:
        account.refuse(None, table.column(index), shown, f"station {wanted}")
    return table.rows([i for i, cell in enumerate(cells) if cell == wanted])


def site_of(
    table: Table,
    account: Account,
    *,
    station: tuple[str, ...] = (),
    coordinates: tuple[str, str, str] = ("LATITUDE", "LONGITUDE", "ELEVATION"),
    utc_offset: float | None = None,
) -> Site:
    """Place as the first row tells it; of several station titles the first that is filled."""
    names = (_first(table, title) for title in station)
    found = {
        name: place_number(
            name,
            _first(table, title),
            account,
            line=min(table.lines, default=1),
            column=f'"{title}"',
        )
        for name, title in zip(("latitude", "longitude", "elevation"), coordinates, strict=True)
    }
    return Site(
        station=next((name for name in names if name), None), utc_offset=utc_offset, **found
    )


def _first(table: Table, title: str) -> str:
    index = table.index(title)
    return "" if index is None or not table.lines else table.columns[index][0].strip()
