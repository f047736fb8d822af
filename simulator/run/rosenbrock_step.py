"""One step of a linearly implicit method, and the small linear algebra it needs.

Method: Rodas5P of Steinebach, Construction of Rosenbrock-Wanner method Rodas5P, BIT Numerical Mathematics 63 (2023) 27:
eight stages, order 5 with embedded order 4, stiffly accurate and L-stable, dense output of order 4. The equations are
autonomous: time is a state. Only the moving states take part in the linear system; the boundary flows that are integrated
beside them feed nothing back and follow one by one.

Arguments, the same throughout: ``p``, ``m``, ``ch`` parameters, modes and channels as ``run.layout`` names
them; ``dead``, ``flow`` tables of ``run.ejection``; ``jacobian`` derivatives of the rates [1/s]; ``w``,
``pivots`` the factorised matrix and its row changes; ``right``, ``short``, ``out`` room for right-hand side,
parts and result; ``run_up`` share of the time derivative in a stage [s]; ``rates`` rates of change of the
state; ``n`` how many parts the state has; ``moved`` room for a state that is a little off; ``k`` the stages;
``old``, ``new``, ``c`` ends of a step and the weights of the curve between them.
"""

from __future__ import annotations

import math

import numpy as np

from simulator.compiled import compiled
from simulator.run import layout as at
from simulator.run.equations import evaluate
from simulator.run.layout import Array

N = at.STATES
ACTIVE = at.AIR_IN  # states before this one enter the rates; those from it on are integrals
GAMMA = 0.21193756319429014
STAGES = 8
#: Weights of the earlier stages in the state each stage is evaluated at.
A = np.zeros((STAGES, STAGES))
A[1, :1] = 3.0
A[2, :2] = 2.849394379747939, 0.45842242204463923
A[3, :3] = -6.954028509809101, 2.489845061869568, -10.358996098473584
A[4, :4] = 2.8029986275628964, 0.5072464736228206, -0.3988312541770524, -0.04721187230404641
A[5:, :5] = (
    -7.502846399306121, 2.561846144803919, -11.627539656261098, -0.18268767659942256, 0.030198172008377946
)  # fmt: skip
A[6:, 5] = A[7, 6] = 1.0
#: Weights of the earlier stages, over the step, on the right-hand side.
C = np.zeros((STAGES, STAGES))
C[1, :1] = -14.155112264123755
C[2, :2] = -17.97296035885952, -2.859693295451294
C[3, :3] = 147.12150275711716, -1.41221402718213, 71.68940251302358
C[4, :4] = 165.43517024871676, -0.4592823456491126, 42.90938336958603, -5.961986721573306
C[5, :5] = (
    24.854864614690072, -3.0009227002832186, 47.4931110020768, 5.5814197821558125, -0.6610691825249471
)  # fmt: skip
C[6, :6] = (
    30.91273214028599, -3.1208243349937974, 77.79954646070892, 34.28646028294783, -19.097331116725623,
    -28.087943162872662,
)  # fmt: skip
C[7, :7] = (
    37.80277123390563, -3.2571969029072276, 112.26918849496327, 66.9347231244047, -40.06618937091002,
    -54.66780262877968, -9.48861652309627,
)  # fmt: skip
#: Dense output.
D = np.array(
    [
        [
            25.948786856663858, -2.5579724845846235, 10.433815404888879, -2.3679251022685204, 0.524948541321073,
            1.1241088310450404, 0.4272876194431874, -0.17202221070155493,
        ],
        [
            -9.91568850695171, -0.9689944594115154, 3.0438037242978453, -24.495224566215796, 20.176138334709044,
            15.98066361424651, -6.789040303419874, -6.710236069923372,
        ],
        [
            11.419903575922262, 2.8879645146136994, 72.92137995996029, 80.12511834622643, -52.072871366152654,
            -59.78993625266729, -0.15582684282751913, 4.883087185713722,
        ],
    ]
)  # fmt: skip


@compiled
def factorise(matrix: Array, n: int, pivots: Array) -> bool:
    """LU factors of the leading n x n block of a matrix with row pivoting, in place; False where it is singular."""
    for k in range(n):
        best, row = abs(matrix[k, k]), k
        for i in range(k + 1, n):
            if abs(matrix[i, k]) > best:
                best, row = abs(matrix[i, k]), i
        pivots[k] = row
        if best == 0.0 or not math.isfinite(best):
            return False
        if row != k:
            for j in range(n):
                held = matrix[k, j]
                matrix[k, j] = matrix[row, j]
                matrix[row, j] = held
        inverse = 1.0 / matrix[k, k]
        matrix[k, k] = inverse  # kept inverted: solving multiplies
        for i in range(k + 1, n):
            if matrix[i, k] != 0.0:
                factor = matrix[i, k] * inverse
                matrix[i, k] = factor
                for j in range(k + 1, n):
                    matrix[i, j] -= factor * matrix[k, j]
    return True


@compiled
def solve_stage(
    factors: Array,
    pivots: Array,
    jacobian: Array,
    moving: Array,
    n: int,
    shift: float,
    run_up: float,
    right: Array,
    short: Array,
    out: Array,
) -> None:
    """Solve (shift I - J) out = right: the n moving states by their factors, all others one by one.

    The engine's speed, where it hardly moves, still runs up at its own pace [s].
    """
    for i in range(n):
        short[i] = right[moving[i]]
    for k in range(n):
        row = pivots[k]
        if row != k:
            held = short[k]
            short[k] = short[row]
            short[row] = held
    for i in range(1, n):
        total = short[i]
        for j in range(i):
            total -= factors[i, j] * short[j]
        short[i] = total
    for i in range(n - 1, -1, -1):
        total = short[i]
        for j in range(i + 1, n):
            total -= factors[i, j] * short[j]
        short[i] = total * factors[i, i]
    for i in range(N):
        out[i] = right[i]
    for j in range(n):
        share = short[j]
        for i in range(N):
            out[i] += jacobian[j, i] * share
    inverse = 1.0 / shift
    for i in range(N):
        out[i] *= inverse
    out[at.SPEED] *= shift / (shift + 1.0 / run_up)
    for j in range(n):
        out[moving[j]] = short[j]


@compiled
def stages(
    h: float,
    old: Array,
    rates: Array,
    p: Array,
    m: Array,
    dead: Array,
    flow: Array,
    jacobian: Array,
    moving: Array,
    n: int,
    w: Array,
    pivots: Array,
    right: Array,
    short: Array,
    moved: Array,
    ch: Array,
    k: Array,
    new: Array,
) -> bool:
    """Make a step of h [s] from ``old``: fills the stages k, of which the last is the error, and the state ``new``.

    False where the linear system is singular.
    """
    shift = 1.0 / (h * GAMMA)
    for i in range(n):
        for j in range(n):
            w[i, j] = -jacobian[j, moving[i]]
        w[i, i] += shift
    if not factorise(w, n, pivots):
        return False
    for i in range(N):
        right[i] = rates[i]
    for stage in range(STAGES):
        if stage > 0:
            for i in range(N):
                new[i], right[i] = old[i], 0.0
            for j in range(stage):
                weight, push = A[stage, j], C[stage, j] / h
                for i in range(N):
                    new[i] += weight * k[j, i]
                    right[i] += push * k[j, i]
            evaluate(new, p, m, dead, flow, moved, ch)
            for i in range(N):
                right[i] += moved[i]
        solve_stage(w, pivots, jacobian, moving, n, shift, p[at.RUN_UP], right, short, k[stage])
    for i in range(N):
        new[i] += k[STAGES - 1, i]
    return True


@compiled
def dense_weights(k: Array, c: Array) -> None:
    """What :func:`dense` needs of the stages of a step; c has shape (3, states)."""
    for row in range(3):
        for i in range(N):
            c[row, i] = 0.0
        for j in range(STAGES):
            for i in range(N):
                c[row, i] += D[row, j] * k[j, i]


@compiled
def dense(share: float, old: Array, new: Array, c: Array, out: Array) -> None:
    """State at a share (0 to 1) of the last step."""
    rest = 1.0 - share
    for i in range(N):
        out[i] = old[i] * rest + share * (new[i] + rest * (c[0, i] + share * (c[1, i] + share * c[2, i])))
