"""What is said over the bench: errors with their way out, progress, the empty bench."""

from __future__ import annotations

import pygame

from viewer.screen import theme
from viewer.screen.field_box import draw_field
from viewer.screen.layout import Layout
from viewer.screen.shapes import rounded, verdict_sign
from viewer.screen.text import Texts
from viewer.screen.viewstate import Editing, Loading, Notice

EMPTY_TITLE = "Drop a file here"
EMPTY_LINE = (
    "SVG, PDF, PNG, JPEG, TIFF or a job file, or several \u00b7 Ctrl+O asks for one"
    " \u00b7 S sizes by numbers"
)
FIELD_HINTS = ("e.g. 62.5 mm or 2 1/2 in, then Enter", "then Enter", "")


def _notice_lines(notice: Notice, layout: Layout, texts: Texts) -> list[str]:
    width = min(layout.view.width - 2 * layout.px(40), layout.px(820)) - layout.px(80)
    return texts.wrap(notice.text, width, layout.px(14))[:4]


def notice_boxes(
    notice: Notice, layout: Layout, texts: Texts, error: str = ""
) -> tuple[pygame.Rect, pygame.Rect | None, pygame.Rect]:
    """(the notice, its field if it has one, its closing cross) in the window."""
    px, view = layout.px, layout.view
    width = min(view.width - 2 * px(40), px(820))
    lines = _notice_lines(notice, layout, texts)
    height = px(24) + px(20) * len(lines) + (px(38) if notice.field else 0)
    height += px(19) if error else 0
    box = pygame.Rect(view.centerx - width // 2, view.y + px(16), width, height)
    close = pygame.Rect(box.right - px(32), box.y + px(9), px(22), px(22))
    if not notice.field:
        return box, None, close
    label = texts.width(notice.label, px(12.5)) + px(12)
    y = box.y + px(12) + px(20) * len(lines) + px(8)
    wide = px(120) if notice.field != "path" else box.width - px(38) - label - px(24)
    return box, pygame.Rect(box.x + px(38) + label, y, wide, px(27)), close


def draw_notice(
    surface: pygame.Surface,
    notice: Notice,
    editing: Editing | None,
    layout: Layout,
    texts: Texts,
) -> None:
    """Draw the notice over the bench."""
    px = layout.px
    mine = editing if editing is not None and editing.name == notice.field else None
    error = mine.error if mine else ""
    box, field, close = notice_boxes(notice, layout, texts, error)
    rounded(surface, box, px(7), theme.CARD, theme.ORANGE if notice.is_error else theme.FIELD_EDGE)
    sign = "in-margin" if notice.is_error else "too-close"
    color = theme.VERDICT_TEXT["in-margin"] if notice.is_error else theme.VERDICT_TEXT["fits"]
    surface.blit(verdict_sign(sign, px(16), color), (box.x + px(13), box.y + px(13)))
    surface.blit(verdict_sign("outside", px(10), theme.TEXT_SOFT), close.move(px(6), px(6)))
    texts.where = "notice"
    y = box.y + px(12)
    for text in _notice_lines(notice, layout, texts):
        line = pygame.Rect(box.x + px(38), y, box.width - px(76), px(20))
        texts.draw(surface, text, line, px(14), theme.TEXT)
        y += px(20)
    if field is None:
        return
    label = pygame.Rect(box.x + px(38), field.y, field.x - box.x - px(44), field.height)
    texts.draw(surface, notice.label, label, px(12.5), theme.TEXT_SOFT)
    draw_field(surface, field, "", mine, layout, texts, align="left")
    if notice.field != "path":
        hint = pygame.Rect(
            field.right + px(10), field.y, box.right - field.right - px(20), field.height
        )
        shown = texts.first_that_fits(FIELD_HINTS, hint.width, px(12.5))
        texts.draw(surface, shown, hint, px(12.5), theme.TEXT_SOFT)
    if error:
        line = pygame.Rect(box.x + px(38), field.bottom + px(2), box.width - px(76), px(18))
        texts.draw(surface, error, line, px(12.5), theme.VERDICT_TEXT["outside"])


def draw_loading(surface: pygame.Surface, loading: Loading, layout: Layout, texts: Texts) -> None:
    """A progress bar in the middle of the bench."""
    px = layout.px
    box = pygame.Rect(0, 0, px(420), px(98))
    box.center = layout.view.center
    rounded(surface, box, px(8), theme.CARD, theme.FIELD_EDGE)
    texts.where = "loading"
    inner = box.inflate(-2 * px(20), 0)
    title = pygame.Rect(inner.x, box.y + px(12), inner.width, px(22))
    texts.draw(surface, f"Reading {loading.file_name}", title, px(14), theme.TEXT, bold=True)
    step = pygame.Rect(inner.x, box.y + px(36), inner.width - px(110), px(20))
    texts.draw(surface, loading.step, step, px(12.5), theme.TEXT_SOFT)
    cancel = pygame.Rect(inner.right - px(105), box.y + px(36), px(105), px(20))
    texts.draw(surface, "Esc cancels", cancel, px(12.5), theme.TEXT_SOFT, align="right")
    track = pygame.Rect(inner.x, box.y + px(68), inner.width, px(8))
    rounded(surface, track, track.height // 2, theme.TRACK)
    done = track.copy()
    done.width = max(track.height, round(track.width * max(0.0, min(1.0, loading.fraction))))
    rounded(surface, done, done.height // 2, theme.SKY)


def draw_empty(surface: pygame.Surface, layout: Layout, texts: Texts) -> None:
    """What an empty bench says."""
    px, view = layout.px, layout.view
    texts.where = "empty"
    title = pygame.Rect(view.x, view.centery - px(30), view.width, px(30))
    texts.draw(surface, EMPTY_TITLE, title, px(20), theme.TEXT, bold=True, align="center")
    below = pygame.Rect(view.x, view.centery + px(4), view.width, px(24)).inflate(-px(24), 0)
    for text in texts.wrap(EMPTY_LINE, below.width, px(12.5)):
        texts.draw(surface, text, below, px(12.5), theme.TEXT_SOFT, align="center")
        below.y += px(20)
