"""Moments of bodies: 4x4 matrices of the moments of (x, y, z, 1), and the mass matrices that are linear in them."""
import numpy as np

from drawn_drive import cross_matrix, turned


def link_matrix(moments, axes):
    """6x6 matrix for (v of the frame's origin, w) of a body with these moments in a frame with these axes."""
    mass, first, second = moments[3, 3], axes @ moments[:3, 3], axes @ moments[:3, :3] @ axes.T
    inertia = np.trace(second) * np.eye(3) - second
    return np.block([[mass * np.eye(3), -cross_matrix(first)], [cross_matrix(first), inertia]])


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


def tree_speeds(robot):
    """Speeds of the joint's point on the child and the child's turning rate from those of the link and the joint."""
    speeds = np.zeros((6, 7))
    speeds[:3, :3], speeds[:3, 3:6] = np.eye(3), -cross_matrix(robot.b)
    speeds[3:, 3:6], speeds[3:, 6] = np.eye(3), robot.axis
    return speeds


def patched(robot, patch, turn):
    """7x7 matrix of the child and of all that a patch list adds: the direct model without the link's own figures."""
    link = np.zeros((7, 7))
    link[:6, :6] = link_matrix(added(patch["carrier"]), np.eye(3))
    axes = turned(robot.axis, float(robot.joint_reading(turn)))
    child = moments_of(robot.child_in_its_link()) + added(patch["child"])
    speeds = tree_speeds(robot)
    link += speeds.T @ link_matrix(child, axes) @ speeds
    link[6, 6] += patch["armature_kg_m2"]
    return link
