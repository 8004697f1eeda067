"""A display list cut into cells, so that a small window is drawn from what lies near it and not from the whole page.

MuPDF looks at every object of a list for every window it draws: of a page of ten thousand letters that takes longer than drawing
the window.
"""

import math
from typing import Any

from preflight.load.device import mu

#: So many windows are drawn from the whole list before it is worth cutting.
SOON = 12
#: Cells along either side, and how far each reaches into its neighbours, in cells, so that most windows lie in one.
ACROSS, OVERLAP = 6, 0.25
#: Points that are kept round a cell: a hairline is drawn wider than its bounds at a coarse resolution.
MARGIN = 3.0

_AS_IT_IS = mu.ll_fz_make_matrix(1, 0, 0, 1, 0, 0)


class Cells:
    """The cells of one display list, cut when they are first asked for.

    The list must outlive its cells: they borrow what it borrows.
    """

    def __init__(self, whole: Any) -> None:
        self.whole = whole
        self._asked = 0
        self._cells: dict[tuple[int, int], Any] = {}
        bounds = mu.ll_fz_bound_display_list(whole.m_internal)
        self._left, self._top = bounds.x0, bounds.y0
        self._wide, self._high = (bounds.x1 - bounds.x0) / ACROSS, (bounds.y1 - bounds.y0) / ACROSS

    def near(self, x0: float, y0: float, x1: float, y1: float) -> Any:
        """The list to draw a window from, whose corners are in points of the page: a cell that holds it, or the whole."""
        self._asked += 1
        if self._asked <= SOON or not (0 < self._wide < math.inf and 0 < self._high < math.inf):
            return self.whole
        wide, high = self._wide, self._high
        column = math.floor(((x0 + x1) / 2 - self._left) / wide)
        row = math.floor(((y0 + y1) / 2 - self._top) / high)
        left, top = self._left + (column - OVERLAP) * wide, self._top + (row - OVERLAP) * high
        right, bottom = left + (1 + 2 * OVERLAP) * wide, top + (1 + 2 * OVERLAP) * high
        if (
            x0 < left
            or y0 < top
            or x1 > right
            or y1 > bottom
            or not (0 <= column < ACROSS and 0 <= row < ACROSS)
        ):
            return self.whole
        cell = self._cells.get((column, row))
        if cell is None:
            cell = self._cells[column, row] = self._cut(left, top, right, bottom)
        return cell

    def _cut(self, left: float, top: float, right: float, bottom: float) -> Any:
        cell = mu.FzDisplayList(mu.FzRect(mu.ll_fz_bound_display_list(self.whole.m_internal)))
        around = mu.ll_fz_make_rect(left - MARGIN, top - MARGIN, right + MARGIN, bottom + MARGIN)
        device = mu.ll_fz_new_list_device(cell.m_internal)
        try:
            mu.ll_fz_run_display_list(self.whole.m_internal, device, _AS_IT_IS, around, None)
            mu.ll_fz_close_device(device)
        finally:
            mu.ll_fz_drop_device(device)
        return cell
