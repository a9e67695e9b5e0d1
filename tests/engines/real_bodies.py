"""What a direct joint with real bodies can do at best, and whether mass on the joint axis can make bodies real.

A body is real when its 4x4 matrix of moments of (x, y, z, 1) is positive semidefinite (Wensing, Kim, Slotine: Linear matrix
inequalities for physically consistent inertial parameter identification, IEEE Robotics and Automation Letters 3, 2018).
The mass matrix of carrier, child and armature is linear in these moments. So both questions are semidefinite programs.
Drake's front end, Clarabel solves.
"""
import numpy as np
from pydrake.solvers import ClarabelSolver, MathematicalProgram

from drawn_drive import cross_matrix, on_one_link, turned

LENGTH = 0.1  # m, so that all unknowns are of one size
POSES = 9


def moment_basis():
    """The ten symmetric 4x4 matrices that have one moment each: mass, first moments, second moments."""
    for row in range(4):
        for column in range(row + 1):
            matrix = np.zeros((4, 4))
            matrix[row, column] = matrix[column, row] = 1.0
            yield matrix * LENGTH ** sum(k < 3 for k in (row, column))


def link_matrix(moments, axes):
    """6x6 matrix for (v of the frame's origin, w) of a body with these moments in a frame with these axes."""
    mass, first, second = moments[3, 3], axes @ moments[:3, 3], axes @ moments[:3, :3] @ axes.T
    inertia = np.trace(second) * np.eye(3) - second
    return np.block([[mass * np.eye(3), -cross_matrix(first)], [cross_matrix(first), inertia]])


def tree_matrices(robot, turn):
    """7x7 matrices of one unit of each unknown: the carrier's moments, the child's, the armature."""
    for moments in moment_basis():
        whole = np.zeros((7, 7))
        whole[:6, :6] = link_matrix(moments, np.eye(3))
        yield whole
    axes = turned(robot.axis, float(robot.joint_reading(turn)))
    speeds = np.zeros((6, 7))
    speeds[:3, :3], speeds[:3, 3:6] = np.eye(3), -cross_matrix(robot.b)
    speeds[3:, 3:6], speeds[3:, 6] = np.eye(3), robot.axis
    for moments in moment_basis():
        yield speeds.T @ link_matrix(moments, axes) @ speeds
    armature = np.zeros((7, 7))
    armature[6, 6] = LENGTH**2
    yield armature


def least_error(robot, low, high):
    """The least e with -e M <= dM <= e M at some poses of the stroke, over all real bodies; at all poses it is no less."""
    program = MathematicalProgram()
    unknown = program.NewContinuousVariables(22)  # ten, ten, armature, e
    zero = np.zeros((4, 4))
    basis = [m / np.abs(m).max() for m in moment_basis()]
    for body in (0, 10):
        of_body = [zero] * body + basis + [zero] * (12 - body)
        program.AddLinearMatrixInequalityConstraint([zero, *of_body], unknown)
    program.AddBoundingBoxConstraint(0, np.inf, unknown[20:])
    for turn in np.linspace(low, high, POSES):
        true = on_one_link([robot], [np.array(turn)])
        inverse = np.linalg.inv(np.linalg.cholesky(true))
        tree = [inverse @ m @ inverse.T for m in tree_matrices(robot, turn)]
        for sign in (1.0, -1.0):
            terms = [-sign * np.eye(7), *(sign * m for m in tree), np.eye(7)]
            program.AddLinearMatrixInequalityConstraint(terms, unknown)
    program.AddLinearCost(unknown[21])
    found = ClarabelSolver().Solve(program)
    assert found.is_success(), found.get_solution_result()
    return float(found.GetSolution(unknown[21]))


def moments_of(body):
    """Of a `drawn_drive.Body` about its frame's origin."""
    second = 0.5 * np.trace(body.tensor) * np.eye(3) - body.tensor + body.mass * np.outer(body.centre, body.centre)
    first = body.mass * body.centre
    return np.block([[second, first[:, None]], [first[None, :], np.array([[body.mass]])]])


def added(patch):
    """What a patch list adds to one link, about the link's origin."""
    xx, yy, zz, xy, xz, yz = patch["inertia_about_origin_kg_m2"]
    inertia = np.array([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]])
    first = np.array(patch["first_moment_kg_m"])
    second = 0.5 * np.trace(inertia) * np.eye(3) - inertia
    return np.block([[second, first[:, None]], [first[None, :], np.array([[patch["mass_kg"]]])]])


def about(moments, point):
    """The same body's moments about another point."""
    move = np.eye(4)
    move[:3, 3] = -point
    return move @ moments @ move.T


def most_real(carrier, child, axis):
    """Moments about one point of the joint axis. With the best mass, first and second moment on that axis taken from one
    and given to the other: the smaller of both bodies' least eigenvalues. Negative: nothing on the axis makes both real."""
    program = MathematicalProgram()
    unknown = program.NewContinuousVariables(4)
    along, one = np.append(axis, 0.0), np.array([0.0, 0.0, 0.0, 1.0])
    size = np.diag([1 / LENGTH, 1 / LENGTH, 1 / LENGTH, 1.0])
    moves = [np.outer(one, one), LENGTH * (np.outer(along, one) + np.outer(one, along)), LENGTH**2 * np.outer(along, along)]
    for body, sign in ((child, 1.0), (carrier, -1.0)):
        scaled = [size @ m @ size for m in (body, *(sign * move for move in moves))]
        program.AddLinearMatrixInequalityConstraint([*scaled, -np.eye(4)], unknown)
    program.AddLinearCost(-unknown[3])
    found = ClarabelSolver().Solve(program)
    assert found.is_success(), found.get_solution_result()
    return float(found.GetSolution(unknown[3]))
