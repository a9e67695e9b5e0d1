//! Warnings: the design can be judged, and the reader should know something.

use super::Explanation;

pub(super) const NEAR_CHANGE_POINT: Explanation = Explanation {
    title: "the stroke ends close to a change point",
    meaning: "At a change point all four pins lie in line. From there the linkage can leave in two ways: as it was, or \
        with the joint turning the other way. A parallelogram has one wherever its crank lies along the \
        ground line, and can leave it as an antiparallelogram. The warning comes where less than 10 deg of motor angle \
        are left between the stroke and that pose.",
    matters: "Which way it leaves is decided by play, speed and load, not by the motor. The joint then runs backward, \
        against what controller and simulator expect. Near the pose the rod also has next to no arm, so that forces are \
        large. It can happen without power, when a leg sags.",
    cure: "Put hard stops on the crank so that it cannot come near that pose, also when power fails. Or shift the \
        stroke, or choose lengths that are no parallelogram. `check --json` gives the distance as change_point.margin_rad.",
    example: "[stroke]\njoint = [\"-60 deg\", \"60 deg\"]    # zero: crank square to the ground line\n\n\
        [actuator]\nstops = [\"-70 deg\", \"70 deg\"]    # the change points lie at 90 deg to each side",
};

pub(super) const NEAR_CRANK_LIMIT: Explanation = Explanation {
    title: "the stroke ends close to a crank limit (toggle)",
    meaning: "At a crank limit coupler and rocker lie in one line and the crank can go no further: the transmission \
        angle is 0. The warning comes where less than 10 deg of motor angle are left to it.",
    matters: "The joint moves fast for little motor turn there, and the rod's force grows without bound for the torque \
        that it passes on. Play and bending show most in the joint. Run into it and the motor pulls the linkage apart.",
    cure: "End the stroke earlier, or lengthen the coupler or the rocker so that the limit moves away. Put a stop \
        before it. `unloop stroke` shows ratio and transmission angle on the way there.",
    example: "unloop stroke models/knee_offset.toml --steps 11",
};

pub(super) const NEAR_DEAD_POINT: Explanation = Explanation {
    title: "the stroke ends close to a dead point (rocker limit)",
    meaning: "At a dead point crank and coupler lie in one line: the rocker is at the end of its swing and turns back. \
        The warning comes where less than 10 deg of joint angle are left to it.",
    matters: "The motor has a very large torque at the joint there and next to no speed, and the joint cannot drive the \
        motor back: a foot that is pushed does not give way. A constant ratio hides all three. It is right for a clamp \
        and wrong for a leg that has to feel the ground.",
    cure: "If it is meant, judge the joint by its table (`unloop stroke`) and keep the loop in the simulator. If not, \
        end the stroke earlier or shorten the crank.",
    example: "unloop emit models/gripper_finger.toml --to mjcf --model loop -o finger.xml",
};

pub(super) const DEAD_POINT_IN_STROKE: Explanation = Explanation {
    title: "the rocker turns back within the stroke",
    meaning: "Within the stroke crank and coupler come in line. There the joint stands still while the motor goes on, \
        and then it turns back: two motor angles belong to one joint angle.",
    matters: "The transmission ratio is infinite in that pose and changes its sign there. No constant can stand for it, \
        so a direct joint is never equivalent, torque and loads have no bound, and a coupling of crank and joint angle \
        does not exist.",
    cure: "End the stroke before the dead point, if the robot stays away from it. If it is to run through, keep the \
        closed loop in the model.",
    example: "unloop emit crank_drive.toml --to mjcf --model loop -o crank_drive.xml",
};

pub(super) const NEAR_TOGGLE: Explanation = Explanation {
    title: "a gripper's stroke reaches its toggle, or ends close to it",
    meaning: "At the toggle the pad stands still along its closing direction while the motor turns: the opening is at its \
        largest or smallest. The warning comes where the stroke passes that pose, or less than 10 deg of motor angle are left \
        to it.",
    matters: "Close to it a small motor torque makes a very large force at the pads, in the pins and in what is held. Behind it \
        the same motor direction opens instead of closing, and a load on the pads drives the gripper open.",
    cure: "End the stroke earlier and put a stop before the toggle, or turn the closing direction so that it is the one in which \
        the pad travels. If a clamp is meant that locks there, say so on the drawing and size pins and pads for it.",
    example: "unloop stroke models/gripper_parallel.toml --steps 11",
};

pub(super) const PADS_MEET: Explanation = Explanation {
    title: "the pads meet before the stroke ends",
    meaning: "The opening falls to zero within the stroke: from there on the two pads (or the pad and the fixed face) would lie \
        in each other.",
    matters: "The real gripper stops where the pads touch, the model goes on: its limits promise a stroke that is not there. \
        Or the opening of the zero pose or the closing direction is not what the drawing has.",
    cure: "End the stroke where the pads meet, or correct [finger] opening or closing: closing points from the pad towards the \
        object.",
    example: "[finger]\nclosing = [-1.0, 0.0]    # the pad closes towards -x of the drawing\nopening = \"50 mm\"        # between the pads, in the zero pose",
};

pub(super) const NEARLY_SPECIAL: Explanation = Explanation {
    title: "the lengths miss a parallelogram, antiparallelogram or kite by little",
    meaning: "Opposite lengths (or neighbours, for a kite) differ by less than 1 % of the longest length, but they \
        differ. The linkage is judged as it is written.",
    matters: "A parallelogram has ratio 1 everywhere; one that is nearly so does not, and has its limits elsewhere. \
        Often two figures were meant to be the same and one was rounded or mistyped.",
    cure: "Look at the drawing. If the lengths were meant to be alike, write them alike. If the difference is made in \
        the shop, it belongs into the tolerance, not into the length.",
    example: "[linkage]\nground  = \"300 mm\"\ncoupler = \"300 ±0.1 mm\"    # not \"300.05 mm\"",
};

pub(super) const ZERO_OUTSIDE_STROKE: Explanation = Explanation {
    title: "the zero pose lies outside the stroke",
    meaning: "All angles are counted from the zero pose, and the direct joint agrees with the linkage there (but for an \
        offset). The stroke as given does not reach that pose.",
    matters: "The angle error then starts from a pose that is never used, and it can be large over the whole stroke \
        although the ratio fits. Sometimes the readings were meant: stroke and stops are what the software reads.",
    cure: "Choose a zero pose on the stroke, give motor_reads and joint_reads for it, or let the offset be found: \
        offset = \"best\".",
    example: "[zero]\ncrank  = \"120 deg\"\nrocker = \"118 deg\"\njoint_reads = \"-30 deg\"    # what the software reads in this pose",
};

pub(super) const RATIO_SIGN: Explanation = Explanation {
    title: "the ratio given has the wrong sign",
    meaning: "The joint turns with the motor where the ratio is positive and against it where it is negative. Over this \
        stroke the linkage does the other of the two. A crossed rod reverses the joint.",
    matters: "The error is twice the angle that the joint turns. On a robot with such a sign the joint runs the wrong way \
        at full torque.",
    cure: "Turn the sign round, or write ratio = \"best\". Do not mend it with motor_sign: that one is for a motor that \
        counts clockwise, and comes in only when the joint is handed to the robot. Then try it at low torque.",
    example: "[direct_joint]\nratio = -1.0    # the rod crosses the ground line",
};

pub(super) const AXIAL_OFFSETS: Explanation = Explanation {
    title: "the rod's two pins stand apart along the axis",
    meaning: "The pins were given with three coordinates, and seen from the side the rod's two pins do not lie in one \
        plane. An arm that stands beside its axis is no matter: masses, inertia and models have it where it is. But on \
        parallel pins a straight rod runs in one plane.",
    matters: "Angles and ratio are those of the rod's projection, and right as long as all four axes are parallel and \
        the rod is bent from one plane to the other. Such a rod pulls beside its pins and bends them; that load is not \
        in `unloop loads`. With ball joints at its ends a slanting rod is longer than its projection, and turns.",
    cure: "Check the two pins in CAD, and that the axes are parallel. Move the rod into one plane. Or check pins and \
        bearings for the bending moment, force times distance.",
    example: "[pivots]\naxis   = [0, 1, 0]\ncrank  = [\"45 mm\", \"20 mm\", \"0 mm\"]\nrocker = [\"45 mm\", \"34 mm\", \"-300 mm\"]    # 14 mm apart along y",
};

pub(super) const AXIS_POINTS_AWAY: Explanation = Explanation {
    title: "the drawing is seen from behind the joint axis",
    meaning: "axis_points = \"away\" says that the joint axis points away from the reader of the drawing, as the y axis \
        does in a side view with x forward and z up. You write angles as drawn, and motor, joint and zero pose are shown \
        as drawn too. The robot counts about its joint axis, the other way: what it reads stands on a line of its own, and in \
        the files for the robot. Turns in JSON (keys ending in joint_rad and motor_rad) are about the joint axis as well.",
    matters: "A sign that is read the wrong way round sends the joint the wrong way.",
    cure: "Nothing, if that is how the drawing is. Compare the limits in the robot's file with the drawing: they must \
        stand there with the other sign. Pins with three coordinates need no such line.",
    example: "axis_points = \"away\"\n\n[zero]\ncrank = \"90 deg\"    # counter-clockwise as drawn",
};

pub(super) const DRAWN_OUTSIDE_LIMITS: Explanation = Explanation {
    title: "a size lies outside its own limits",
    meaning: "Both deviations have the same sign, as those of a shaft below nominal do: \"60 -0.02/-0.05 mm\" is built \
        between 59.95 and 59.98 mm and never to 60. The middle of the limits stands for the size wherever one linkage \
        is meant: crank range, best constants, figures of the drawn linkage, and what is emitted.",
    matters: "Judged at the size as written, a linkage would be refuted, or passed, that nobody builds.",
    cure: "Nothing, where it is meant. Where a decimal slipped (+4.02/+3.98 for ±0.02), mend the deviations.",
    example: "[linkage]\nrocker = \"60 -0.02/-0.05 mm\"    # judged over 59.95…59.98 mm, from 59.965 mm",
};

pub(super) const NO_TOLERANCE_DRAWN: Explanation = Explanation {
    title: "a tolerance study of a design without tolerances",
    meaning: "No length and no zero angle carries a tolerance. So nothing scatters: `unloop tolerance` can only say what \
        could be allowed.",
    matters: "A verdict over the drawn linkage says nothing about the built one.",
    cure: "Write the tolerances beside the lengths as on the drawing, or under [tolerance], and say how each built robot \
        finds its zero.",
    example: "[linkage]\ncrank   = \"45 ±0.05 mm\"\ncoupler = \"300 mm ISO 2768-f\"\n\n[zero]\nset_by = \"jig\"",
};

pub(super) const PIN_FRICTION_UNUSED: Explanation = Explanation {
    title: "[pins] friction is not used by the tolerance study",
    meaning: "The tolerance study is about lengths, zero angle and play. Friction in the pins moves none of them.",
    matters: "Nothing is wrong. The figure is used elsewhere: `unloop loads` takes it for the efficiency of the pins.",
    cure: "Nothing needs to be done; leave the line in the design, and read the efficiency in `unloop loads`.",
    example: "unloop loads models/ankle.toml",
};

pub(super) const RATED_OVER_PEAK: Explanation = Explanation {
    title: "the rated torque is over the peak torque",
    meaning: "The rated torque is the one that the motor holds for ever, the peak torque the one that it gives for a \
        short time. So the rated one is the smaller.",
    matters: "The peak torque sets the joint's effort limit and the rod's load. If the two are exchanged the limit is too \
        low; if one is at the rotor and the other at the gearbox output, it is wrong by the gear ratio.",
    cure: "Exchange the two, or take both at the output shaft of the gearbox.",
    example: "[actuator]\npeak_torque  = \"60 N m\"    # at the gearbox output\nrated_torque = \"20 N m\"",
};

pub(super) const NEAR_ACTUATOR_END: Explanation = Explanation {
    title: "the stroke ends close to an end of the actuator",
    meaning: "A linear actuator has a shortest and a longest length. The warning comes where less than 10 deg of joint \
        angle are left between the stroke and the pose in which it is as short or as long as it can be.",
    matters: "There it runs into its own end with the whole force of screw and motor; tolerances of pins and mounting eat \
        into what is left.",
    cure: "End the stroke earlier, choose an actuator with more travel, or shift its zero. Put a softer stop on the joint \
        before the actuator's own.",
    example: "[screw]\nlead = \"5 mm\"\nshortest = \"250 mm\"\nlongest = \"310 mm\"",
};

pub(super) const SCREW_LOCKS_ITSELF: Explanation = Explanation {
    title: "the screw locks itself",
    meaning: "The lead angle of the screw is not larger than its angle of friction: whatever pushes on the nut, the screw \
        does not turn. Where the mean diameter is not given, an efficiency of 50 % or less says the same.",
    matters: "A direct joint gives way when it is pushed; this drive does not. No constant ratio with damping and friction \
        models that, so a policy that relies on a joint that yields is trained on another robot.",
    cure: "Take a screw with a larger lead or balls instead of sliding threads; or use the direct joint only where the \
        motor always drives.",
    example: "[screw]\nlead = \"10 mm\"\nefficiency = \"90 %\"\nmean_diameter = \"16 mm\"",
};

pub(super) const NUT_TURNS: Explanation = Explanation {
    title: "the nut may turn against its housing",
    meaning: "Between two balls whose axes are not parallel an actuator twists a little as the joint moves. Where nothing \
        keeps the nut from turning against the housing, that twist runs the nut along the screw.",
    matters: "The motor's encoder then tells a length that is off by lead × twist / turn: some hundredths of a millimetre, \
        which a short lever shows at the joint.",
    cure: "Put a guide into the actuator or a universal joint at one end, and say so with twist_guided.",
    example: "[screw]\nlead = \"5 mm\"\ntwist_guided = true",
};

pub(super) const PINS_MUST_GIVE: Explanation = Explanation {
    title: "hinged pins must give what balls would tilt",
    meaning: "Motor axis and joint axis are not parallel, or the rod's ends stand apart along them. The drive is computed \
        with a ball at each end of the rod; the angle is how far these tilt.",
    matters: "Hinges instead of balls cannot move so as rigid bodies: the angle is taken up by play and bending, which wears \
        the pins and loads the rod sideways.",
    cure: "Use rod ends and hold the angle against what their catalogue allows ([accept] ball_tilt), or make the axes parallel.",
    example: "[accept]\nball_tilt = \"12 deg\"",
};
