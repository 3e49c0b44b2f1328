"""The fields of a desk: which are in the window now, and what stands in them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from viewer.screen import cup_fields, limit_fields
from viewer.screen.cards import field_values
from viewer.screen.keyboard import is_panel_field

if TYPE_CHECKING:
    from viewer.screen.desk import Desk


def has_field(desk: Desk, name: str) -> bool:
    """Whether a field is in the window now: of a question, a guest, a notice, a card."""
    dialog = desk.asking.dialog()
    if dialog is not None:
        return dialog.has_field(name)
    if desk.owner_of(name) is not None or (desk.notice and desk.notice.field == name):
        return True
    if desk.session is None or not is_panel_field(name):
        return False
    desk.painter.panel.update(desk.frame(), desk.layout)
    return desk.painter.panel.place_of(f"field:{name}") is not None


def text_of(desk: Desk, name: str) -> str:
    """What stands in a field of the artwork's cards; nothing without artwork."""
    session = desk.session
    if session is None:
        return ""
    if name in cup_fields.NAMES:
        return cup_fields.cup_value(session.cup, name)
    if name in limit_fields.NAMES:
        return limit_fields.limit_value(session, name)
    return {row.name: row.value for row in field_values(desk.frame())}[name]
