"""All cuts of a plan moved together toward zero: what no move of two cuts can do where cuts stand side by side.

Around the cuts as they stand what is left is nearly linear in their angles and amounts, and so are the walls between
them: a small linear program says how all of them move at once so that the worst share of a limit becomes least.  A few
of these steps, each no longer than the linear picture holds, and then rounding to the shop's grid one cut after
another, each making good what the ones before it left.
"""

from __future__ import annotations

import math
import time

import numpy as np

from planner.correction.candidates.sections import FloatArray, IntArray, between_deg
from planner.correction.search.master import quiet_stdout
from planner.correction.search.polish import laid_out
from planner.correction.search.working_plan import ComplexArray, Place, Pool
from planner.records import dataclass

DIRECTIONS = 24
STEPS = 6
STEP_DEG = 8.0
"""So far a cut may turn in one step; halved where the step did not hold what it promised."""
LEAST_STEP_DEG = 0.5
NEAR_ANGLES = 3
NEAR_SETTINGS = 4
"""Places around where a cut should be that are looked at for rounding."""
COARSE_DEG = 1.5
WHOLE_STEPS = 3
"""On a dial as coarse as that whole steps are chosen for all cuts together before they are rounded."""
ROUNDS = 3
TRIED = 8
LEAST_GAIN = 0.003
"""So often one of the cuts is moved to another block, so many such moves are tried, as long as they bring so much."""
NODES = 200
SLACK_DEG = 1e-6
BETTER = 1e-4
"""A step has to bring so much of a limit to be worth another one."""


@dataclass(frozen=True)
class _Range:
    """What settings of one tool fit at the dial angles of a block: least and greatest size, 0 where none fits [g*mm]."""

    settings: IntArray
    size_gmm: FloatArray
    least_gmm: FloatArray
    most_gmm: FloatArray


class Together:
    """Moves all cuts of plans at once.

    Parameters
    ----------
    pool : Pool
        Blocks and limits.
    deadline : float
        ``time.monotonic()`` at which to stop (an outer stop; steps are counted).
    """

    def __init__(self, pool: Pool, deadline: float) -> None:
        self.pool = pool
        self.deadline = deadline
        self._ranges: dict[tuple[int, int], _Range] = {}

    def closer(self, places: list[Place], least_share: float) -> list[Place] | None:
        """Return the same number of cuts in the same blocks that leave less of a limit, or None.

        Parameters
        ----------
        places : list of Place
            Legal cuts.
        least_share : float
            Less than this share of a limit is not asked for.
        """
        pool = self.pool
        count = len(places)
        families = [int(pool.blocks[b].family[s]) for b, s, _ in places]
        angle = np.array([pool.blocks[b].relative_deg[a] for b, _, a in places])
        size = np.array([abs(float(pool.blocks[b].amount_gmm[s])) for b, s, _ in places])
        share = self._share(places, angle, size)
        step = STEP_DEG
        for _ in range(STEPS):
            if share <= least_share + BETTER or time.monotonic() > self.deadline:
                break
            moved = self._step(places, families, angle, size, step, least_share)
            if moved is None:
                break
            new_angle, new_size = angle + moved[:count], size + moved[count:]
            new_share = self._share(places, new_angle, new_size)
            if new_share < share - BETTER:
                angle, size, share = new_angle, new_size, new_share
            else:
                step *= 0.35
                if step < LEAST_STEP_DEG:
                    break
        return self._on_the_dial(places, families, angle, size, least_share)

    def elsewhere(self, places: list[Place], least_share: float) -> list[Place] | None:
        """Return as many cuts that leave less of a limit, one of them moved to another block at a time; None if none do.

        For every cut left out, every block's place that leaves least is looked at; the best of these plans are then
        drawn together.
        """
        pool = self.pool
        best, best_share = list(places), pool.worst_share(places)
        for _ in range(ROUNDS):
            if best_share <= least_share + BETTER or time.monotonic() > self.deadline:
                break
            tries = sorted(
                (share, number, place)
                for number in range(len(best))
                for share, place in self._singles(best, number)
            )[:TRIED]
            nearest, nearest_share = best, best_share
            for share, number, place in tries:
                moved = [place if k == number else other for k, other in enumerate(best)]
                together = self.closer(moved, least_share)
                if together is not None and pool.worst_share(together) < share:
                    moved, share = together, pool.worst_share(together)
                if share < nearest_share - BETTER:
                    nearest, nearest_share = moved, share
            if nearest_share > best_share - LEAST_GAIN:
                break
            best, best_share = nearest, nearest_share
        return best if best_share < pool.worst_share(places) - BETTER else None

    def _singles(self, places: list[Place], number: int) -> list[tuple[float, Place]]:
        """Return per block but its own the place for one of the cuts that leaves the least share, with that share."""
        pool = self.pool
        others = [place for k, place in enumerate(places) if k != number]
        left = pool.residual(others)
        found = []
        for block in range(len(pool.blocks)):
            if block == places[number][0]:
                continue
            best: tuple[float, Place] | None = None
            for settings, angles, part in laid_out(pool, block, pool.room(block, others), math.inf):
                if not settings.size:
                    continue
                share = (np.abs(left[:, None] + part) / pool.full_tolerance[:, None]).max(axis=0)
                one = int(np.argmin(np.round(share, 9)))
                least = round(float(share[one]), 9)
                if best is None or least < best[0]:
                    best = (least, (block, int(settings[one]), int(angles[one])))
            if best is not None:
                found.append(best)
        return found

    def _on_the_dial(
        self,
        places: list[Place],
        families: list[int],
        angle: FloatArray,
        size: FloatArray,
        least_share: float,
    ) -> list[Place] | None:
        """Return legal places near what is wanted: first whole steps of the dial for all at once, then the amounts."""
        count = len(places)
        coarse = self._grid(places) >= COARSE_DEG
        for _ in range(WHOLE_STEPS if coarse else 0):
            moved = self._step(places, families, angle, size, STEP_DEG, least_share, whole=True)
            if moved is None:
                break
            still = bool(np.all(np.abs(moved[:count]) < 1e-6))
            angle, size = angle + moved[:count], size + moved[count:]
            if still:
                break
        return self._rounded(places, families, angle, size)

    def _range(self, block: int, family: int) -> _Range:
        key = (block, family)
        if key not in self._ranges:
            b = self.pool.blocks[block]
            settings = np.flatnonzero(b.family == family)
            size = np.abs(b.amount_gmm[settings])
            order = np.argsort(size, kind="stable")
            settings, size = settings[order], size[order]
            legal = self.pool.legal(block)[settings]
            fits = legal.any(axis=0)
            least = np.where(fits, size[np.argmax(legal, axis=0)], 0.0)
            most = np.where(fits, size[size.size - 1 - np.argmax(legal[::-1], axis=0)], 0.0)
            self._ranges[key] = _Range(settings, size, least, most)
        return self._ranges[key]

    def _vectors(
        self, places: list[Place], angle: FloatArray, size: FloatArray
    ) -> tuple[FloatArray, ComplexArray]:
        """Return the weights of the cuts in the limits, shape (rows, n), and the unit vectors of their effects, shape (n,)."""
        pool = self.pool
        weight = np.stack([pool.row_weights(b, np.array([s]))[:, 0] for b, s, _ in places], axis=1)
        sign = np.array([-1.0 if pool.blocks[b].amount_gmm[s] < 0.0 else 1.0 for b, s, _ in places])
        centre = np.array([pool.blocks[b].centre_deg for b, _, _ in places])
        return weight, sign * np.exp(1j * np.radians(centre + angle))

    def _share(self, places: list[Place], angle: FloatArray, size: FloatArray) -> float:
        weight, unit = self._vectors(places, angle, size)
        left = self.pool.start + weight @ (unit * size)
        return float((np.abs(left) / self.pool.full_tolerance).max(initial=0.0))

    def _setting(self, block: int, family: int, size: float) -> int:
        """Return the setting of at least a size, or the largest."""
        own = self._range(block, family)
        at = min(int(np.searchsorted(own.size_gmm, size - 1e-9)), own.settings.size - 1)
        return int(own.settings[at])

    def _step(
        self,
        places: list[Place],
        families: list[int],
        angle: FloatArray,
        size: FloatArray,
        step_deg: float,
        least_share: float,
        whole: bool = False,
    ) -> FloatArray | None:
        """Return the turns [deg] and growths [g*mm] of all cuts that leave the least share, to first order.

        ``whole``: the turns end on steps of the dial.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp

        pool = self.pool
        count = len(places)
        weight, unit = self._vectors(places, angle, size)
        left = pool.start + weight @ (unit * size)
        scale = max(float(size.max()), 1.0)
        # columns: turns in steps (of the dial where they are to be whole), growths in scales, the share
        grid = self._grid(places)
        first = np.array([pool.blocks[b].relative_deg[0] for b, _, _ in places])
        position = (angle - first) / grid if whole else np.zeros(count)
        unit_deg = grid if whole else step_deg
        most_turns = max(1.0, round(step_deg / grid)) if whole else 1.0
        around = np.exp(2j * np.pi * np.arange(DIRECTIONS) / DIRECTIONS)
        turn = weight * (1j * unit * size * math.radians(unit_deg))[None, :]
        grow = weight * (unit * scale)[None, :]
        rows, high = [], []
        for row in range(pool.start.size):
            most_left = pool.full_tolerance[row]
            matrix = (
                np.conj(around)[:, None] * np.concatenate([turn[row], grow[row]])[None, :]
            ).real / most_left
            rows.append(np.hstack([matrix, np.full((DIRECTIONS, 1), -1.0)]))
            high.append(-(np.conj(around) * left[row]).real / most_left)
        low_bound, high_bound = np.full(2 * count + 1, -1.0), np.full(2 * count + 1, 1.0)
        low_bound[-1], high_bound[-1] = least_share, np.inf
        for number, (block, _, _) in enumerate(places):
            b = pool.blocks[block]
            own = self._range(block, families[number])
            ends = np.array([angle[number] - unit_deg, angle[number], angle[number] + unit_deg])
            low_bound[number] = max(-most_turns, (b.relative_deg[0] - angle[number]) / unit_deg)
            high_bound[number] = min(most_turns, (b.relative_deg[-1] - angle[number]) / unit_deg)
            most = np.interp(ends, b.relative_deg, own.most_gmm)
            least = float(np.interp(angle[number], b.relative_deg, own.least_gmm))
            low_bound[count + number] = (min(least, size[number]) - size[number]) / scale
            high_bound[count + number] = max(0.0, float(own.size_gmm[-1]) - size[number]) / scale
            for side, slope in ((0, most[1] - most[0]), (1, most[2] - most[1])):
                del side
                line = np.zeros(2 * count + 1)
                line[count + number], line[number] = 1.0, -slope / scale
                rows.append(line[None, :])
                high.append(np.array([max(0.0, float(most[1]) - size[number]) / scale]))
        self._add_walls(places, families, angle, size, (unit_deg, scale), rows, high)
        objective = np.zeros(2 * count + 1)
        objective[-1] = 1.0
        objective[count:-1] = 1e-5
        low_bound, high_bound = np.minimum(low_bound, high_bound), np.maximum(low_bound, high_bound)
        matrix, most_of = np.vstack(rows), np.concatenate(high)
        integral = np.zeros(2 * count + 1)
        if whole:  # columns are steps from where the cut stands; whole ones are counted from the dial
            integral[:count] = 1.0
            most_of = most_of + matrix[:, :count] @ position
            low_bound[:count] = np.ceil(low_bound[:count] + position - 1e-6)
            high_bound[:count] = np.floor(high_bound[:count] + position + 1e-6)
        with quiet_stdout():
            answer = milp(
                objective,
                integrality=integral,
                bounds=Bounds(low_bound, high_bound),
                constraints=LinearConstraint(matrix, np.full(most_of.size, -np.inf), most_of),
                options={"node_limit": NODES, "mip_rel_gap": 0.02},
            )
        if answer.x is None:
            return None
        x = np.asarray(answer.x)
        turns = np.round(x[:count]) - position if whole else x[:count]
        return np.concatenate([turns * unit_deg, x[count:-1] * scale])

    def _grid(self, places: list[Place]) -> float:
        return float(self.pool.blocks[places[0][0]].step_deg)

    def _add_walls(
        self,
        places: list[Place],
        families: list[int],
        angle: FloatArray,
        size: FloatArray,
        units: tuple[float, float],
        rows: list[FloatArray],
        high: list[FloatArray],
    ) -> None:
        pool = self.pool
        step_deg, scale = units
        count = len(places)
        for one in range(count):
            for two in range(one):
                b1, b2 = places[one][0], places[two][0]
                if not pool.conflicts(b1, b2):
                    continue
                first, second = (two, one) if angle[two] <= angle[one] else (one, two)
                between = float(angle[second] - angle[first])
                if between > 180.0:
                    first, second, between = second, first, 360.0 - between
                needed, slopes = self._needed(places, families, size, first, second)
                if between > needed + 4.0 * STEP_DEG:
                    continue
                line = np.zeros(2 * count + 1)
                line[first], line[second] = step_deg, -step_deg
                line[count + first], line[count + second] = slopes[0] * scale, slopes[1] * scale
                rows.append(line[None, :])
                high.append(np.array([max(0.0, between - needed - SLACK_DEG)]))

    def _needed(
        self, places: list[Place], families: list[int], size: FloatArray, first: int, second: int
    ) -> tuple[float, tuple[float, float]]:
        """Return the angle that two cuts need between them [deg], and how it grows with their sizes [deg/(g*mm)]."""
        pool = self.pool
        b1, b2 = places[first][0], places[second][0]
        s1 = self._setting(b1, families[first], size[first])
        s2 = self._setting(b2, families[second], size[second])
        needed = pool.separation(b1, s1, b2, s2)
        slopes = []
        for number, (block, other) in ((first, (b1, s2)), (second, (b2, s1))):
            own = self._range(block, families[number])
            further = min(float(size[number] * 1.1), float(own.size_gmm[-1]))
            if further <= size[number] + 1e-6:
                slopes.append(0.0)
                continue
            s = self._setting(block, families[number], further)
            grown = (
                pool.separation(b1, s, b2, other) if number == first else pool.separation(b1, other, b2, s)
            )
            slopes.append(max(0.0, (grown - needed) / (further - size[number])))
        return needed, (slopes[0], slopes[1])

    def _rounded(
        self, places: list[Place], families: list[int], angle: FloatArray, size: FloatArray
    ) -> list[Place] | None:
        """Return legal places near what is wanted, one after another, each making good what the ones before left."""
        pool = self.pool
        weight, unit = self._vectors(places, angle, size)
        wanted = weight * (unit * size)[None, :]
        left = pool.start + wanted.sum(axis=1)
        # the ones with the least room first: those that may be adjusted come last
        order = sorted(range(len(places)), key=lambda k: (-size[k], k))
        done: dict[int, Place] = {}
        for number in order:
            block = places[number][0]
            b = pool.blocks[block]
            own = self._range(block, families[number])
            middle = int(np.argmin(np.abs(b.relative_deg - angle[number])))
            columns = np.arange(
                max(0, middle - NEAR_ANGLES), min(b.relative_deg.size, middle + NEAR_ANGLES + 1)
            )
            at = int(np.searchsorted(own.size_gmm, size[number]))
            settings = own.settings[max(0, at - NEAR_SETTINGS) : at + NEAR_SETTINGS + 1]
            free = pool.free(block, list(done.values()))[b.section_of[settings]][:, columns]
            for other in range(len(places)):
                if other == number or other in done or not pool.conflicts(block, places[other][0]):
                    continue
                o = places[other][0]
                other_setting = self._setting(o, families[other], size[other])
                needed = pool.separations(block, settings, o, other_setting)
                apart = between_deg(b.relative_deg[columns], angle[other])
                # half a step of room: the other one is rounded too
                free = free & (apart[None, :] >= needed[:, None] - 0.5 * b.step_deg)
            i, j = np.nonzero(free)
            if not i.size:
                return None
            effect = b.amount_gmm[settings[i]] * pool.phases(block)[columns[j]]
            gone = left - wanted[:, number]
            after = gone[:, None] + pool.row_weights(block, settings[i]) * effect
            score = (np.abs(after) / pool.full_tolerance[:, None]).max(axis=0)
            best = int(np.argmin(np.round(score, 9)))
            done[number] = (block, int(settings[i[best]]), int(columns[j[best]]))
            left = after[:, best]
        result = [done[number] for number in range(len(places))]
        return result if pool.legal_plan(result) else None
