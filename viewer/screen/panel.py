"""The column of cards: stacking, scrolling, clicks, and what to draw anew."""

from __future__ import annotations

import numpy as np
import pygame

from viewer.screen import theme
from viewer.screen.card_base import Card, card_width
from viewer.screen.cards import Content, contents, draw_card
from viewer.screen.layout import Layout
from viewer.screen.limits_card import ChoicesContent, choices_content, draw_choices
from viewer.screen.numbers_card import shape_choices
from viewer.screen.shapes import polygon, rounded
from viewer.screen.text import Texts
from viewer.screen.viewstate import Frame

GAP_PX = 8
FADE_PX = 34


class Panel:
    """Draws the panel; keeps the cards that did not change."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts
        self._cards: list[tuple[Content, Card]] = []
        self._layout: Layout | None = None
        self._tops: list[int] = []
        self._scroll_px = 0
        self._hovered = ""
        self._is_stale = True
        self._choices: tuple[ChoicesContent, Card] | None = None
        self._fades: dict[tuple[int, int, bool], pygame.Surface] = {}

    def update(self, frame: Frame, layout: Layout) -> bool:
        """Draw cards that say something new; True when the panel must be shown anew."""
        wanted = contents(frame)
        kept = dict(self._cards) if layout == self._layout else {}
        changed = layout != self._layout or [c for c, _ in self._cards] != wanted
        if changed:
            self._cards = [
                (
                    content,
                    kept[content] if content in kept else draw_card(content, layout, self._texts),
                )
                for content in wanted
            ]
            self._layout = layout
            self._stack(layout)
        scroll = max(0, min(frame.panel_scroll_px, self.greatest_scroll_px()))
        if scroll != self._scroll_px:
            self._scroll_px = scroll
            changed = True
        hover = frame.tools.hover
        hovered = hover.removeprefix("panel:") if hover.startswith("panel:") else ""
        if hovered != self._hovered:
            self._hovered = hovered
            changed = True
        changed = self._update_choices(frame, layout, changed) or changed
        # True until it has been drawn: others bring it up to date as well, to find places.
        self._is_stale = self._is_stale or changed
        return self._is_stale

    def _update_choices(self, frame: Frame, layout: Layout, is_stale: bool) -> bool:
        wanted = choices_content(frame.session, frame.editing)
        wanted = wanted or shape_choices(frame.numbers, frame.editing)
        if (self._choices[0] if self._choices else None) == wanted and not is_stale:
            return False
        self._choices = (wanted, draw_choices(wanted, layout, self._texts)) if wanted else None
        return True

    def _choices_box(self) -> pygame.Rect | None:
        """Where the list of a field stands: under it, or above where there is no room."""
        layout = self._layout
        if self._choices is None or layout is None:
            return None
        content, card = self._choices
        field = self.place_of(f"field:{content.name}")
        if field is None:
            return None
        box = card.surface.get_rect()
        box.right = layout.panel.right - layout.px(30)
        box.top = field.bottom + layout.px(3)
        if box.bottom > layout.panel.bottom - layout.px(4):
            box.bottom = field.top - layout.px(3)
        return box.clamp(layout.panel)

    def _stack(self, layout: Layout) -> None:
        self._tops = []
        y = layout.px(10)
        for _, card in self._cards:
            self._tops.append(y)
            y += card.surface.get_height() + layout.px(GAP_PX)
        self._height = y

    def greatest_scroll_px(self) -> int:
        """How far the cards can be scrolled."""
        if self._layout is None or not self._cards:
            return 0
        return max(0, self._height - self._layout.panel.height)

    def draw(self, surface: pygame.Surface) -> None:
        """Draw the whole panel from its cards."""
        self._is_stale = False
        layout = self._layout
        if layout is None:
            return
        panel = layout.panel
        surface.set_clip(panel)
        surface.fill(theme.WINDOW, panel)
        for (_, card), top in zip(self._cards, self._tops, strict=True):
            surface.blit(card.surface, (panel.x + layout.px(16), top - self._scroll_px))
        greatest = self.greatest_scroll_px()
        if greatest:
            length = panel.height * panel.height // self._height
            y = (panel.height - length) * self._scroll_px // greatest
            bar = pygame.Rect(panel.right - layout.px(9), y + 2, layout.px(5), length - 4)
            rounded(surface, bar, bar.width // 2, theme.SCROLL)
        self._draw_hints(surface, layout)
        choices = self._choices_box()
        if choices is not None and self._choices is not None:
            surface.blit(self._choices[1].surface, choices)
        self._light_up(surface, layout)
        surface.set_clip(None)

    def _light_up(self, surface: pygame.Surface, layout: Layout) -> None:
        """A bright edge around what the pointer is over."""
        box = self.place_of(self._hovered) if self._hovered else None
        if box is not None:
            width = max(1, round(1.5 * layout.ui))
            pygame.draw.rect(surface, theme.SKY, box, width, layout.px(5))

    def hint_boxes(self) -> dict[str, pygame.Rect]:
        """Where a sign says that there are more cards: "cards-up", "cards-down"."""
        layout = self._layout
        if layout is None:
            return {}
        panel, found = layout.panel, {}
        box = pygame.Rect(0, 0, layout.px(104), layout.px(22))
        if self._scroll_px > layout.px(GAP_PX):
            box.midtop = (panel.centerx, panel.top + layout.px(4))
            found["cards-up"] = box.copy()
        if self._scroll_px < self.greatest_scroll_px() - layout.px(GAP_PX):
            box.midbottom = (panel.centerx, panel.bottom - layout.px(4))
            found["cards-down"] = box.copy()
        return found

    def _draw_hints(self, surface: pygame.Surface, layout: Layout) -> None:
        px, panel = layout.px, layout.panel
        for name, box in self.hint_boxes().items():
            # Cards end in a fade there, so that a cut one is seen to go on.
            is_down = name == "cards-down"
            high = px(FADE_PX)
            top = panel.bottom - high if is_down else panel.top
            surface.blit(self._fade(panel.width, high, is_down), (panel.x, top))
            edge = max(1, round(layout.ui))
            rounded(surface, box, box.height // 2, theme.BUTTON, theme.FIELD_EDGE, edge)
            self._texts.where = "more"
            words = box.inflate(-px(16), 0)
            words.x += px(8)
            self._texts.draw(surface, "more", words, px(12.5), theme.TEXT, align="center")
            x, y, reach = box.x + px(20), box.centery, px(4)
            way = reach if is_down else -reach
            corners = [(x - reach, y - way // 2), (x + reach, y - way // 2), (x, y + way)]
            polygon(surface, corners, theme.TEXT)

    def _fade(self, width: int, height: int, is_down: bool) -> pygame.Surface:
        key = (width, height, is_down)
        if key not in self._fades:
            fade = pygame.Surface((width, height), pygame.SRCALPHA, 32)
            fade.fill(theme.WINDOW)
            share = (np.arange(height) + 0.5) / height
            alpha = np.rint(245 * np.minimum(1.0, 1.6 * (share if is_down else share[::-1])))
            pygame.surfarray.pixels_alpha(fade)[:] = alpha.astype(np.uint8)[None, :]
            self._fades[key] = fade
        return self._fades[key]

    def names(self) -> list[str]:
        """Everything that can be used, from top to bottom."""
        return [name for _, card in self._cards for name, _ in card.hits]

    def hit(self, pos: tuple[int, int]) -> str | None:
        """The name of what is at a window point: "cup:2", "field:angle", "command:best"."""
        layout = self._layout
        if layout is None or not layout.panel.collidepoint(pos):
            return None
        is_listed = self._choices_box()
        if is_listed is None or not is_listed.collidepoint(pos):
            for name, box in self.hint_boxes().items():
                if box.collidepoint(pos):
                    return f"command:{name}"
        choices = self._choices_box()
        if choices is not None and self._choices is not None and choices.collidepoint(pos):
            for name, box in self._choices[1].hits:
                if box.collidepoint(pos[0] - choices.x, pos[1] - choices.y):
                    return name
            return None
        for (_, card), top in zip(self._cards, self._tops, strict=True):
            x = pos[0] - layout.panel.x - layout.px(16)
            y = pos[1] - top + self._scroll_px
            for name, box in card.hits:
                if box.collidepoint(x, y):
                    return name
        return None

    def place_of(self, name: str) -> pygame.Rect | None:
        """Where a thing that can be clicked is in the window."""
        layout = self._layout
        if layout is None:
            return None
        choices = self._choices_box() if name.startswith("choice:") else None
        if choices is not None and self._choices is not None:
            for found, box in self._choices[1].hits:
                if found == name:
                    return box.move(choices.topleft)
        for (_, card), top in zip(self._cards, self._tops, strict=True):
            for found, box in card.hits:
                if found == name:
                    return box.move(layout.panel.x + layout.px(16), top - self._scroll_px)
        return None

    def card_boxes(self) -> list[pygame.Rect]:
        """Where the cards are in the window."""
        if self._layout is None:
            return []
        x, width = self._layout.panel.x + self._layout.px(16), card_width(self._layout)
        return [
            pygame.Rect(x, top - self._scroll_px, width, card.surface.get_height())
            for (_, card), top in zip(self._cards, self._tops, strict=True)
        ]
