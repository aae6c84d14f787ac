"""Orders written and read back."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mci.errors import InputError
from mci.plan.orders import Action, Order, sort_orders
from mci.plan.table import HEADERS, orders_text, read_orders, read_orders_with_lines

TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc", "Z"]), max_size=8)
MINUTES = st.integers(0, 100_000).map(lambda hundredths: hundredths / 100)
ORDERS = st.lists(
    st.builds(
        Order,
        minute=MINUTES,
        area=TEXT,
        action=st.sampled_from(Action),
        patient=TEXT,
        device=TEXT,
        flow_lpm=st.integers(0, 600).map(lambda tenths: tenths / 10),
        supply=TEXT,
        regulator=TEXT,
        gauge_psi=st.none() | st.integers(0, 3000).map(float),
        by=TEXT,
        reason=TEXT,
    ),
    min_size=1,
)


@given(ORDERS)
def test_what_is_written_is_read(tmp_path_factory: pytest.TempPathFactory, orders: list[Order]) -> None:
    """Any orders come back as they were, also names that a spreadsheet would take for a formula."""
    file = tmp_path_factory.mktemp("orders") / "orders.csv"
    file.write_text(orders_text(sort_orders(orders), 875), encoding="utf-8", newline="")
    assert read_orders(file) == sort_orders(orders)


def test_orders_of_one_minute_take_effect_in_the_order_of_the_actions() -> None:
    """Who leaves frees the outlet for who comes, whatever the order of the rows."""
    rows = [Order(5, "a", action) for action in reversed(Action)]
    assert [order.action for order in sort_orders([*rows, Order(1, "a", Action.CONNECT)])] == [Action.CONNECT, *Action]


def test_all_mistakes_of_a_file_are_told_with_their_lines(tmp_path: Path) -> None:
    """A number that is none and an action that does not exist are reported together."""
    file = tmp_path / "orders.csv"
    rows = [",".join(HEADERS), "soon,,a,connect" + "," * 9, "3,,a,jump" + "," * 9]
    file.write_text("\n".join(rows), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_orders(file)
    assert [(m.line, m.path, m.value) for m in caught.value.mistakes] == [
        (2, "time_min", "soon"),
        (3, "action", "jump"),
    ]


HEAD = ",".join(HEADERS)
ROW = "65.89,,north,connect,N01,mask,4.5,K-101,R1,,,,"


@pytest.mark.parametrize("content", [b"", b"time_min,action\n", b"\xff\xfe\x00", f"{HEAD}\n".encode()])
def test_a_file_that_holds_no_orders_is_refused(tmp_path: Path, content: bytes) -> None:
    """Empty, without the columns or any row, or not text: an error that says what is needed."""
    file = tmp_path / "orders.csv"
    file.write_bytes(content)
    with pytest.raises(InputError):
        read_orders(file)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """No traceback for a missing file."""
    with pytest.raises(InputError, match="there is no such file"):
        read_orders(tmp_path / "none.csv")


@pytest.mark.parametrize("separator", [";", "\t"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_what_a_spreadsheet_saves_is_read(tmp_path: Path, separator: str, mark: bytes) -> None:
    """Semicolons or tabs, a decimal comma and a byte-order mark: the same order, on its row."""
    file = tmp_path / "orders.csv"
    text = f"{HEAD}\n{ROW}\n{',' * 12}\n"
    file.write_bytes(mark + text.replace(",", separator).replace(".", ",").encode())
    orders, lines = read_orders_with_lines(file)
    assert [(one.minute, one.flow_lpm, one.patient) for one in orders] == [(65.89, 4.5, "N01")]
    assert lines == (2,)


def test_a_decimal_comma_among_commas_is_refused(tmp_path: Path) -> None:
    """Where commas part the cells, ``"1,234"`` may be a thousand: refused, never guessed."""
    file = tmp_path / "orders.csv"
    file.write_text(f"{HEAD}\n" + ROW.replace("65.89", '"1,234"'), encoding="utf-8")
    with pytest.raises(InputError, match=r"time_min: not a number \(found '1,234'\)\. Write minutes after T\+0"):
        read_orders(file)


def test_a_column_named_twice_is_refused(tmp_path: Path) -> None:
    """Two columns of one name: nobody can know which counts."""
    file = tmp_path / "orders.csv"
    file.write_text(f"{HEAD},patient\n{ROW},N02\n", encoding="utf-8")
    with pytest.raises(InputError, match="column 'patient' is there twice"):
        read_orders(file)
