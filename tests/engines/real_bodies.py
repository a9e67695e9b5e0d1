"""What a direct joint with real bodies can do at best, and whether mass on the joint axis can make bodies real.

A body is real when its 4x4 matrix of moments of (x, y, z, 1) is positive semidefinite (Wensing, Kim, Slotine: Linear matrix
inequalities for physically consistent inertial parameter identification, IEEE Robotics and Automation Letters 3, 2018).
The mass matrix of carrier, child and armature is linear in these moments. So both questions are semidefinite programs.
Drake's front end, Clarabel solves.
"""
import numpy as np
from pydrake.solvers import ClarabelSolver, MathematicalProgram

from drawn_drive import on_one_link, turned
from moments import link_matrix, tree_speeds

LENGTH = 0.1  # m, so that all unknowns are of one size
POSES = 9


def moment_basis():
    """The ten symmetric 4x4 matrices that have one moment each: mass, first moments, second moments."""
    for row in range(4):
        for column in range(row + 1):
            matrix = np.zeros((4, 4))
            matrix[row, column] = matrix[column, row] = 1.0
            yield matrix * LENGTH ** sum(k < 3 for k in (row, column))


def tree_matrices(robot, turn):
    """7x7 matrices of one unit of each unknown: the carrier's moments, the child's, the armature."""
    for moments in moment_basis():
        whole = np.zeros((7, 7))
        whole[:6, :6] = link_matrix(moments, np.eye(3))
        yield whole
    axes = turned(robot.axis, float(robot.joint_reading(turn)))
    speeds = tree_speeds(robot)
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
