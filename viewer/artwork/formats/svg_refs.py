"""Which element draws which other one: endless and exploding references.

Nodes are elements with an id (and the document). An element belongs to its
nearest ancestor with an id; that keeps the graph small and exact.
"""

from __future__ import annotations

from viewer.errors import ArtworkError

MAX_INSTANCES = 1_000_000
MAX_NESTED_USES = 200


class ReferenceGraph:
    """Containment, ``use`` and paint references between the ids of one file."""

    def __init__(self) -> None:
        self._index: dict[str, int] = {}
        self._elements = [0]
        self._inside: list[list[int]] = [[]]
        self._uses: list[list[str]] = [[]]
        self._paints: list[list[str]] = [[]]
        self._hidden: set[int] = set()

    def enter(self, owner: int, element_id: str, *, is_drawn: bool = True) -> int:
        """Node of a new element below node ``owner``; the first of equal ids counts.

        Not ``is_drawn``: drawn only where referred to, as what is in ``defs``.
        """
        is_named = bool(element_id) and element_id not in self._index
        if is_named or not is_drawn:
            node = len(self._elements)
            if is_named:
                self._index[element_id] = node
            if not is_drawn:
                self._hidden.add(node)
            self._elements.append(0)
            self._inside.append([])
            self._uses.append([])
            self._paints.append([])
            self._inside[owner].append(node)
            owner = node
        self._elements[owner] += 1
        return owner

    def add_use(self, node: int, target_id: str) -> None:
        """Node ``node`` draws a copy of ``target_id``."""
        self._uses[node].append(target_id)

    def add_paint(self, node: int, target_id: str) -> None:
        """Node ``node`` is painted, clipped or masked with ``target_id``."""
        self._paints[node].append(target_id)

    def check_uses(self) -> None:
        """Raise on an endless ``use`` and on more than a million instances."""
        if not any(self._uses):
            return
        order = self._order(with_paints=False)
        if order is None:
            raise ArtworkError(
                "the drawing repeats itself without end: a `use` element refers to what"
                " contains it",
                code="endless-use",
            )
        counts = [0] * len(self._elements)
        depths = [0] * len(self._elements)
        for node in order:
            inside = (child for child in self._inside[node] if child not in self._hidden)
            used = (self._index[target] for target in self._uses[node] if target in self._index)
            drawn = (*inside, *used)
            depths[node] = 1 + max((depths[n] for n in drawn), default=0)
            counts[node] = self._elements[node] + sum(counts[n] for n in drawn)
            if node in self._hidden:
                continue
            if depths[node] > MAX_NESTED_USES:
                raise ArtworkError(
                    f"`use` elements refer to one another more than {MAX_NESTED_USES} levels deep",
                    code="too-deep",
                )
            if counts[node] > MAX_INSTANCES:
                raise ArtworkError(
                    "the drawing repeats its parts more than a million times by nested `use`"
                    " elements, which is too large to measure",
                    code="too-large",
                )

    def has_endless_paint(self) -> bool:
        """Whether a pattern, mask, clip, marker or gradient refers to itself."""
        return any(self._paints) and self._order(with_paints=True) is None

    def _targets(self, node: int, *, with_paints: bool) -> list[int]:
        ids = self._uses[node] + self._paints[node] if with_paints else self._uses[node]
        found = (self._index.get(target) for target in ids)
        return self._inside[node] + [target for target in found if target is not None]

    def _order(self, *, with_paints: bool) -> list[int] | None:
        """Nodes with every target before its user; None if there is a cycle."""
        open_, done = 1, 2
        state = [0] * len(self._elements)
        order: list[int] = []
        # Ids below others are reached from the document, so one start suffices.
        state[0] = open_
        stack = [(0, iter(self._targets(0, with_paints=with_paints)))]
        while stack:
            node, targets = stack[-1]
            target = next(targets, None)
            if target is None:
                state[node] = done
                order.append(node)
                stack.pop()
            elif state[target] == open_:
                return None
            elif state[target] != done:
                state[target] = open_
                stack.append((target, iter(self._targets(target, with_paints=with_paints))))
        return order
