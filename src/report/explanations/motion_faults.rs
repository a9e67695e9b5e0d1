//! Faults of how the linkage moves, and refusals that rest on it.

use super::Explanation;

pub(super) const LOOP_DOES_NOT_CLOSE: Explanation = Explanation {
    title: "the rod does not reach from crank to rocker in the zero pose",
    meaning: "With the crank at its angle of [zero], the distance from its pin to the joint axis is larger than coupler \
        and rocker together, or smaller than their difference. The parts cannot be put together in that pose.",
    matters: "There is no linkage to judge. Often one length is mistyped, or the crank angle is counted from another line \
        than the one from motor axis to joint axis.",
    cure: "Check that the lengths are between pin centres, and that the angle is counted counter-clockwise from the line \
        motor to joint. The message says by how much the coupler is off. Or take the pins from CAD with [pivots].",
    example: "[zero]\ncrank  = \"90 deg\"    # from the line A→B to the crank\nrocker = \"90 deg\"",
};

pub(super) const FLAT_ZERO_POSE: Explanation = Explanation {
    title: "the linkage is flat in the zero pose",
    meaning: "In the zero pose coupler and rocker lie in one line with the joint axis: a crank limit, or, with the crank \
        along the ground line, a change point. The two ways to assemble the linkage fall together there.",
    matters: "The assembly is picked in the zero pose and followed from there. In a flat pose it cannot be picked, and a \
        joint zeroed there would be badly known: a hair of crank angle is much of rocker angle.",
    cure: "Choose another zero pose, with the crank well off that line: the middle of the stroke is good. If the software's \
        zero is where it is, keep it by motor_reads and joint_reads.",
    example: "[zero]\ncrank  = \"90 deg\"           # instead of 0 deg\nrocker = \"90 deg\"\nmotor_reads = \"90 deg\"      # what the software reads there\njoint_reads = \"90 deg\"",
};

pub(super) const ZERO_POSE_IS_DEAD_POINT: Explanation = Explanation {
    title: "a stroke of joint angles from a dead point",
    meaning: "In the zero pose crank and coupler are in line: the rocker is at the end of its swing. It turns the same way \
        whichever way the crank goes.",
    matters: "A joint angle then belongs to two crank angles, one to each side, and the stroke does not say which is meant.",
    cure: "Give the stroke as motor angles, or choose a zero pose away from the dead point.",
    example: "[stroke]\nmotor = [\"5 deg\", \"60 deg\"]",
};

pub(super) const ROCKER_FITS_NEITHER: Explanation = Explanation {
    title: "the rocker angle fits neither assembly",
    meaning: "For one crank angle a linkage can be put together in two ways, with two rocker angles. [zero] rocker only \
        says which; it need not be exact, but it is more than 10 deg from both.",
    matters: "The wrong assembly can turn the joint the other way. So nothing is guessed. The cause is often a length that \
        is mistyped, or an angle that is counted from another line or clockwise.",
    cure: "Both angles are counted counter-clockwise from the direction motor to joint (A→B), the rocker's at the joint. \
        If the drawing agrees with one of the two angles of the message, write that one.",
    example: "[zero]\ncrank  = \"90 deg\"\nrocker = \"90 deg\"     # open; about -107 deg would be the crossed assembly",
};

pub(super) const OUTSIDE_BRANCH: Explanation = Explanation {
    title: "the stroke runs past the end of the linkage's branch",
    meaning: "From the zero pose the linkage can be moved to a crank limit or a change point on each side; as a range of \
        joint angles, to a dead point too. That is its branch. The stroke as given goes further.",
    matters: "The real linkage stops there or, at a change point, may go on in another shape. A simulator with a direct \
        joint would run through it without notice.",
    cure: "End the stroke before the angle in the message and leave some distance. Or change the lengths. A rocker that \
        turns back within the stroke can be described by motor angles: motor = [..] under [stroke].",
    example: "[stroke]\njoint = [\"-35 deg\", \"40 deg\"]    # what the software reads, as joint_reads has it",
};

pub(super) const PAD_ON_COUPLER: Explanation = Explanation {
    title: "what was asked is about a joint, and the pad rides on the coupler",
    meaning: "A map, or builds with a direct joint each, tell motor and joint of each other. A parallel jaw has no joint that the pad \
        turns with: the coupler keeps its attitude.",
    matters: "A joint made of the rocker would swing a pad that only shifts.",
    cure: "Ask for what the pad does: `unloop stroke` has opening, tilt, shift and grip, `unloop tolerance` how they scatter, \
        NAME.joint.json of `emit` opening and grip over the stroke.",
    example: "unloop stroke models/gripper_parallel.toml --csv",
};

pub(super) const STOPS_LEAVE_NOTHING: Explanation = Explanation {
    title: "the motor's stops leave nothing of the stroke",
    meaning: "The joint's limits are the tighter of stroke and motor stops, taken through the linkage. The two ranges do \
        not overlap.",
    matters: "A joint without a range cannot be emitted. Most often the stops are written as another sensor reads them, \
        or with the other sign.",
    cure: "Write stops as motor angles in the sense of [stroke]: the reading in the zero pose plus the turn as drawn. \
        motor_sign is not in them.",
    example: "[zero]\nmotor_reads = \"0 deg\"\n\n[stroke]\nmotor = [\"-35 deg\", \"40 deg\"]\n\n[actuator]\nstops = [\"-50 deg\", \"55 deg\"]",
};

pub(super) const NOT_EQUIVALENT: Explanation = Explanation {
    title: "no direct joint is emitted: the design is not equivalent",
    meaning: "Somewhere on the stroke, or for some linkage within the tolerance, the direct joint is further from the \
        linkage than [accept] allows. The verdict is over every [[robot]], over all joints on one link moving at once, and \
        over a model that can be written: where no real bodies of carrier and child stand for crank, rod and rotor, it \
        is no as well.",
    matters: "A controller that is trained or tuned on the direct joint meets another angle, speed or torque on the robot.",
    cure: "`unloop check` says which criterion fails, where, and what would mend it: a shorter stroke, another length, \
        another ratio. Or keep the linkage in the model, --model coupled or --model loop. Widen [accept] only if you can \
        say why the larger error does no harm. --anyway emits the joint all the same, and the file then says so.",
    example: "unloop check models/knee_offset.toml\nunloop emit models/knee_offset.toml --to mjcf --model coupled -o knee.xml",
};

pub(super) const UNDECIDED: Explanation = Explanation {
    title: "no direct joint is emitted: it could be neither proved nor refuted",
    meaning: "On part of the stroke the proof came to no end within its effort: the bound is over the limit and no linkage \
        was found that breaks it. That happens where the largest error is all but equal to the limit, or where a \
        tolerance reaches near a dead point or crank limit.",
    matters: "Undecided is not a pass. A limit that is met by nothing has no reserve either.",
    cure: "`unloop check` names the stretch (undecided_joint_rad in its JSON). Narrow the tolerance or the stroke, or \
        leave more room in [accept].",
    example: "[accept]\nangle = \"0.55 deg\"    # where the linkage reaches 0.50 deg",
};

pub(super) const COUPLING_NOT_LINEAR: Explanation = Explanation {
    title: "the format couples joints by a straight line only",
    meaning: "URDF and SDFormat couple two joints by a factor and an offset (mimic). This linkage's crank angle is no \
        straight function of the joint's, not even within [accept].",
    matters: "The crank would stand wrong, and its share of torque and inertia with it.",
    cure: "MJCF holds a polynomial of the fourth degree. SDFormat and MJCF hold the closed loop.",
    example: "unloop emit models/knee_offset.toml --to mjcf --model coupled -o knee.xml",
};
