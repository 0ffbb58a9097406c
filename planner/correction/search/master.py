"""The master problem: how many cuts in which window, as a small mixed-integer program over outer bounds.

Its answer is a lower bound - on what remains (capacity), on the number of cuts, on the cost - for every plan on the
shop's grid, because every relation in it is a relaxation: the windows' bounds, and limit circles replaced by polygons
drawn around them.  The numbers n per window and the sums per window it proposes (the *signature*) are where plans are
looked for.  Vectors are in kg*mm inside, so that the solver's tolerances mean something.
"""

from __future__ import annotations

import contextlib
import math
import os
import sys
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import field
from typing import Any

import numpy as np

from planner.correction.candidates.block import Block
from planner.correction.candidates.reach_bounds import Window
from planner.correction.candidates.sections import FloatArray
from planner.correction.candidates.shared_reach import Shared, shared_bounds
from planner.correction.problem import CorrectionProblem
from planner.frames import TwoPlanes
from planner.records import dataclass

SCALE_GMM = 1000.0
LIMIT_DIRECTIONS = 32
LARGE = 100
"""A program of so many whole numbers is a large one."""
FRUGAL = {"mip_heuristic_run_rins": False, "mip_heuristic_run_rens": False}


@dataclass(frozen=True)
class Signature:
    """Numbers of cuts per window, with the sum of effects [g*mm] that the master wants there."""

    counts: tuple[tuple[int, int], ...]
    targets_gmm: tuple[complex, ...]
    cost: float

    @property
    def cuts(self) -> int:
        """Number of cuts in all."""
        return sum(count for _, count in self.counts)


@dataclass(frozen=True)
class MasterAnswer:
    """What the solver said: a proven bound (None: nothing proven), whether impossible, and a signature."""

    bound: float | None
    impossible: bool
    signature: Signature | None


@dataclass
class _Rows:
    """Sparse rows under construction."""

    data: list[float] = field(default_factory=list)
    row: list[int] = field(default_factory=list)
    column: list[int] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)

    def add_block(self, matrix: FloatArray, columns: list[int], low: FloatArray, high: FloatArray) -> None:
        """Append dense rows over a few columns."""
        start = len(self.low)
        rows, positions = np.nonzero(matrix)
        self.data += matrix[rows, positions].tolist()
        self.row += (rows + start).tolist()
        self.column += np.asarray(columns)[positions].tolist()
        self.low += low.tolist()
        self.high += high.tolist()

    def append(self, other: _Rows) -> None:
        """Append all rows of another set."""
        start = len(self.low)
        self.data += other.data
        self.row += [row + start for row in other.row]
        self.column += other.column
        self.low += other.low
        self.high += other.high

    def matrix(self, columns: int) -> Any:
        """Return the rows as a sparse matrix."""
        from scipy.sparse import csr_matrix

        return csr_matrix((self.data, (self.row, self.column)), shape=(len(self.low), columns))


@contextlib.contextmanager
def quiet_stdout() -> Iterator[None]:
    """Send what the solver's C++ core prints on the process's standard output nowhere.

    It may print a stray log line in the middle of somebody's JSON; there is no option for that.
    """
    try:
        sys.stdout.flush()
        kept = os.dup(1)
    except (OSError, ValueError, AttributeError):
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def whole_numbers(
    objective: FloatArray, integrality: FloatArray, *, options: dict[str, Any], **given: Any
) -> Any:
    """Return scipy's answer to a mixed-integer program, a large one without the solver's dearest searches for answers.

    They solve the program again and again with most of it fixed and are counted by no limit on nodes: in large programs
    they take most of the time and hardly ever find what the branches do not.  A version that does not know these options
    solves the same program, only slower.
    """
    from scipy.optimize import milp

    if np.count_nonzero(integrality) >= LARGE:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with contextlib.suppress(AttributeError, TypeError, ValueError):
                return milp(objective, integrality=integrality, options={**options, **FRUGAL}, **given)
    return milp(objective, integrality=integrality, options=options, **given)


class Master:
    """The master problem of one correction problem.

    Parameters
    ----------
    problem : CorrectionProblem
        Read for limits and planes only.
    unbalance_gmm : tuple of 2 complex
        What is left to correct, pinned cuts taken off [g*mm].
    blocks, windows : list
        The blocks that may be used and their windows.
    shared : sequence of Shared, optional
        What the kinds of cut in one counterweight can reach together, where that is known already.
    """

    def __init__(
        self,
        problem: CorrectionProblem,
        unbalance_gmm: TwoPlanes[complex],
        blocks: list[Block],
        windows: list[Window],
        shared: Sequence[Shared] | None = None,
    ) -> None:
        self.windows = windows
        self._shared = shared_bounds(blocks) if shared is None else shared
        self.blocks = blocks
        self._limits = problem.limits
        self._start = np.array(
            [r.weight_1 * unbalance_gmm[0] + r.weight_2 * unbalance_gmm[1] for r in problem.limits]
        )
        planes = problem.planes_z_mm
        self._weights = np.array(
            [[r.weight_of_source(blocks[w.block].z_mm, planes) for w in windows] for r in problem.limits]
        ).reshape(len(problem.limits), len(windows))
        self._slope = np.array(
            [r.weight_of_source(1.0, planes) - r.weight_of_source(0.0, planes) for r in problem.limits]
        )
        self._layout()

    def _layout(self) -> None:
        """Number the columns: per window its binaries, one integer for cuts beyond the table, v, x, cost."""
        self._binary: list[list[int]] = []
        self._beyond: list[int | None] = []
        self._vector: list[list[int]] = []
        self._moment: list[list[int]] = []
        self._cost: list[int] = []
        column = 0

        def take(count: int) -> list[int]:
            nonlocal column
            column += count
            return list(range(column - count, column))

        for window in self.windows:
            self._binary.append(take(window.most))
            self._beyond.append(take(1)[0] if window.most_cuts > window.most else None)
            self._vector.append(take(2))
            self._moment.append(take(2) if window.tilts_per_mm.size > 1 else [])
            self._cost.append(take(1)[0])
        self._columns = column
        self._window_rows, self._cost_rows, self._shared_rows, self._count_rows = (_Rows() for _ in range(4))
        for index, window in enumerate(self.windows):
            self._add_window(index, window)
        self._add_shared()

    def _add_window(self, index: int, window: Window) -> None:
        rows, most = self._window_rows, window.most
        binary, beyond = self._binary[index], self._beyond[index]
        counts = binary + ([beyond] if beyond is not None else [])
        rows.add_block(np.ones((1, most)), binary, np.array([-np.inf]), np.array([1.0]))
        if beyond is not None:
            rows.add_block(
                np.array([[1.0, -float(window.most_cuts - most)]]), [beyond, binary[-1]],
                np.array([-np.inf]), np.array([0.0]),
            )  # fmt: skip
        cos, sin = np.cos(window.directions_rad), np.sin(window.directions_rad)
        for number, tilt in enumerate(window.tilts_per_mm):
            reach = window.reach_gmm[1:, number, :].T / SCALE_GMM
            parts = [cos[:, None], sin[:, None]]
            if self._moment[index]:
                parts += [tilt * cos[:, None], tilt * sin[:, None]]
            parts.append(-reach)
            if beyond is not None:
                parts.append(-reach[:, -1:] / most)
            rows.add_block(
                np.hstack(parts), self._vector[index] + self._moment[index] + counts,
                np.full(cos.size, -np.inf), np.zeros(cos.size),
            )  # fmt: skip
        excess = window.least_excess[1:].T
        parts = [
            np.ones((excess.shape[0], 1)),
            -window.slopes.real[:, None] * SCALE_GMM,
            -window.slopes.imag[:, None] * SCALE_GMM,
            -excess,
        ]
        if beyond is not None:
            parts.append(-excess[:, -1:] / most)
        self._cost_rows.add_block(
            np.hstack(parts), [self._cost[index], *self._vector[index], *counts],
            np.zeros(excess.shape[0]), np.full(excess.shape[0], np.inf),
        )  # fmt: skip

    def _add_shared(self) -> None:
        """Append what the kinds of cut in one counterweight can reach together (see `candidates.shared_reach`)."""
        for shared in self._shared:
            own = [index for index, window in enumerate(self.windows) if window.block in shared.blocks]
            columns = [column for index in own for column in self._vector[index]]
            around = np.stack([np.cos(shared.directions_rad), np.sin(shared.directions_rad)], axis=1)
            self._shared_rows.add_block(
                np.tile(around, (1, len(own))), columns,
                np.full(shared.directions_rad.size, -np.inf), shared.reach_gmm / SCALE_GMM,
            )  # fmt: skip
            areas: list[float] = []
            counted: list[int] = []
            for index in own:
                area = shared.own_mm2[shared.blocks.index(self.windows[index].block)] / shared.area_mm2
                binary, beyond = self._binary[index], self._beyond[index]
                counted += binary
                areas += [area * number for number in range(1, len(binary) + 1)]
                if beyond is not None:
                    counted.append(beyond)
                    areas.append(area)
            self._count_rows.add_block(np.array([areas]), counted, np.array([-np.inf]), np.array([1.0]))

    def _limit_rows(
        self,
        rows: _Rows,
        share: float | tuple[float, ...],
        slack: list[int] | None,
        share_column: int | None = None,
    ) -> None:
        """Append the limits as polygons drawn around their circles.

        With slack columns what is above them may remain; with a share column the share of the limits is that variable.
        """
        shares = share if isinstance(share, tuple) else (share,) * len(self._limits)
        around = np.exp(2j * np.pi * np.arange(LIMIT_DIRECTIONS) / LIMIT_DIRECTIONS)
        columns = [c for v, x in zip(self._vector, self._moment, strict=True) for c in v + x]
        for number, limit in enumerate(self._limits):
            parts = []
            for index in range(len(self.windows)):
                for weight, present in (
                    (self._weights[number, index], True),
                    (self._slope[number], bool(self._moment[index])),
                ):
                    if present:
                        parts += [weight * around.real[:, None], weight * around.imag[:, None]]
            matrix = np.hstack(parts) if parts else np.zeros((LIMIT_DIRECTIONS, 0))
            own = list(columns)
            if slack is not None:
                matrix = np.hstack([matrix, np.full((LIMIT_DIRECTIONS, 1), -1.0)])
                own.append(slack[number])
            if share_column is not None:
                size = np.full((LIMIT_DIRECTIONS, 1), -limit.tolerance_gmm / SCALE_GMM)
                matrix = np.hstack([matrix, size])
                own.append(share_column)
            start = (np.conj(around) * self._start[number]).real / SCALE_GMM
            rows.add_block(
                matrix, own, np.full(LIMIT_DIRECTIONS, -np.inf),
                (0.0 if share_column is not None else shares[number]) * limit.tolerance_gmm / SCALE_GMM - start,
            )  # fmt: skip

    def excess_gmm(self, *, each_limit: bool = True) -> tuple[float, list[float]]:
        """Return what at least remains above the limits [g*mm]: the least sum, and each limit's own least if that is asked.

        A linear program over what the windows can reach with any number of cuts; 0 where nothing is proven.
        """
        from scipy.optimize import linprog

        count = len(self._limits)
        if not self.windows:
            each = [
                max(0.0, abs(s) - limit.tolerance_gmm)
                for s, limit in zip(self._start, self._limits, strict=True)
            ]
            return sum(each), each
        rows = _Rows()
        for index, window in enumerate(self.windows):
            cos, sin = np.cos(window.directions_rad), np.sin(window.directions_rad)
            for number, tilt in enumerate(window.tilts_per_mm):
                table = window.reach_gmm[:, number, :]
                most = np.maximum(table.max(axis=0), table[-1] * window.most_cuts / window.most)
                parts = [cos[:, None], sin[:, None]]
                if self._moment[index]:
                    parts += [tilt * cos[:, None], tilt * sin[:, None]]
                rows.add_block(
                    np.hstack(parts), self._vector[index] + self._moment[index],
                    np.full(cos.size, -np.inf), most / SCALE_GMM,
                )  # fmt: skip
        rows.append(self._shared_rows)
        slack = list(range(self._columns, self._columns + count))
        self._limit_rows(rows, 1.0, slack)
        total = self._columns + count
        matrix, high = rows.matrix(total), np.array(rows.high)
        bounds = [(None, None)] * self._columns + [(0.0, None)] * count
        results = []
        for weights in [np.ones(count), *np.eye(count)[: count if each_limit else 0]]:
            objective = np.concatenate([np.zeros(self._columns), weights])
            with quiet_stdout():
                answer = linprog(objective, A_ub=matrix, b_ub=high, bounds=bounds, method="highs")
            # a hundredth of a g*mm covers the solver's own tolerance
            results.append(max(0.0, float(answer.fun) * SCALE_GMM - 0.01) if answer.status == 0 else 0.0)
            if len(results) == 1 and results[0] <= 0.0:
                return 0.0, [0.0] * count
        return results[0], results[1:]

    def solve(
        self,
        *,
        cuts: int | None = None,
        wish: str = "",
        least_cuts: int = 0,
        most_cuts: int | None = None,
        share: float | tuple[float, ...] = 1.0,
        least_share: float = 0.0,
        without: tuple[Signature, ...] = (),
        seconds: float = 10.0,
        node_limit: int = 20000,
        gap: float = 0.0,
    ) -> MasterAnswer:
        """Solve for the fewest cuts (``cuts`` None) or for the least cost with so many cuts - or for what is wished.

        Parameters
        ----------
        cuts : int, optional
            Exactly so many; then the objective is the cost if nothing else is wished.
        wish : str
            ``"number"`` (fewest cuts), ``"cost"``, ``"share"`` (the least share of a limit that remains at the worst one,
            between ``least_share`` and ``share``) or ``"excess"`` (the least sum of what is above the limits [kg*mm]).
        least_cuts : int
            A bound that is known already.
        most_cuts : int, optional
            Leave out more cuts than that; "impossible" then means that more are needed.
        share : float or tuple of float
            Share of the tolerances to aim at, or one for each limit.
        without : tuple of Signature
            Signatures that were tried already and are excluded (the bound then holds for the others only).
        seconds, node_limit, gap
            When to stop; the node limit comes first on ordinary problems, so that answers repeat.
        """
        from scipy.optimize import Bounds, LinearConstraint

        wish = wish or ("number" if cuts is None else "cost")
        rows = _Rows()
        rows.append(self._window_rows)
        rows.append(self._shared_rows)
        rows.append(self._count_rows)
        if wish == "cost":
            rows.append(self._cost_rows)
        # one column more: the share of the limits that remains, or the sum of what is above them
        total = self._columns + (1 if wish == "share" else len(self._limits) if wish == "excess" else 0)
        self._limit_rows(
            rows,
            share,
            list(range(self._columns, total)) if wish == "excess" else None,
            self._columns if wish == "share" else None,
        )
        numbers = np.zeros(total)
        for binary, beyond in zip(self._binary, self._beyond, strict=True):
            numbers[binary] = np.arange(1, len(binary) + 1)
            if beyond is not None:
                numbers[beyond] = 1.0
        used = np.flatnonzero(numbers)
        if cuts is not None:
            rows.add_block(
                numbers[used][None, :], used.tolist(), np.array([cuts - 0.0]), np.array([cuts + 0.0])
            )
        elif most_cuts is not None:
            rows.add_block(
                numbers[used][None, :],
                used.tolist(),
                np.array([float(least_cuts)]),
                np.array([float(most_cuts)]),
            )
        elif least_cuts > 0:
            rows.add_block(
                numbers[used][None, :], used.tolist(), np.array([float(least_cuts)]), np.array([np.inf])
            )
        for signature in without:
            self._exclude(rows, signature)
        objective = numbers.copy()
        if wish != "number":
            objective = np.zeros(total)
            objective[self._cost if wish == "cost" else range(self._columns, total)] = 1.0
        low, high, integral = np.full(total, -np.inf), np.full(total, np.inf), np.zeros(total)
        if wish == "share":
            assert not isinstance(share, tuple)
            low[-1], high[-1] = least_share, share
        elif wish == "excess":
            low[self._columns :] = 0.0
        most = cuts if most_cuts is None else most_cuts
        for window, binary, beyond in zip(self.windows, self._binary, self._beyond, strict=True):
            low[binary], high[binary], integral[binary] = 0.0, 1.0, 1.0
            if most is not None:
                high[binary[most:]] = 0.0
            if beyond is not None:
                low[beyond], high[beyond], integral[beyond] = 0.0, window.most_cuts - window.most, 1.0
        low[self._cost] = 0.0
        with quiet_stdout():
            answer = whole_numbers(
                objective,
                integral,
                bounds=Bounds(low, high),
                constraints=LinearConstraint(rows.matrix(total), np.array(rows.low), np.array(rows.high)),
                options={"time_limit": max(0.05, seconds), "node_limit": node_limit, "mip_rel_gap": gap},
            )
        if answer.status == 2:
            return MasterAnswer(None, True, None)
        bound = None if answer.mip_dual_bound is None else float(answer.mip_dual_bound)
        if bound is not None and not math.isfinite(bound):
            bound = None
        proposed = None if answer.x is None else self._signature(np.asarray(answer.x))
        return MasterAnswer(bound, False, proposed)

    def _exclude(self, rows: _Rows, signature: Signature) -> None:
        """Append the row that forbids one signature (exact for tables without cuts beyond them)."""
        wanted = dict(signature.counts)
        columns, signs = [], []
        on = 0
        for index, binary in enumerate(self._binary):
            count = min(wanted.get(index, 0), len(binary))
            for number, column in enumerate(binary, start=1):
                columns.append(column)
                signs.append(1.0 if number == count else -1.0)
                on += number == count
        rows.add_block(np.array([signs]), columns, np.array([-np.inf]), np.array([on - 1.0]))

    def _signature(self, x: FloatArray) -> Signature:
        counts, targets = [], []
        for index, (binary, beyond) in enumerate(zip(self._binary, self._beyond, strict=True)):
            number = round(float(np.dot(x[binary], np.arange(1, len(binary) + 1))))
            if beyond is not None:
                number += round(float(x[beyond]))
            if number:
                counts.append((index, number))
                vx, vy = x[self._vector[index]]
                targets.append(complex(vx, vy) * SCALE_GMM)
        return Signature(tuple(counts), tuple(targets), float(x[self._cost].sum()))
