//! What `find` says of a loop in a robot file, and why `fold` may refuse it.

use super::Explanation;

pub(super) const FIVE_BAR: Explanation = Explanation {
    title: "a loop of five bodies",
    meaning: "The loop has five bodies and five joints, so it has two freedoms: two motors drive it, as in an ankle with two \
        rods for pitch and roll.",
    matters: "No joint of it follows from one motor alone, and no direct joint can stand for the pair.",
    cure: "Keep the loop in the model, or describe the two joints together by hand. Where two such loops share pitch and roll \
        they are found as one drive of kind two_rods.",
    example: "unloop find robot.xml --json",
};

pub(super) const TWO_RODS: Explanation = Explanation {
    title: "one of two loops that turn a body about two joints",
    meaning: "Two loops share pitch and roll of one body, an ankle or a wrist, and each has a motor with a rod of its own. \
        Together they are one drive of kind two_rods.",
    matters: "Neither loop by itself gives a joint a ratio: each motor's turn depends on both joints. The verdict is on two \
        joints with a constant matrix.",
    cure: "Read what is said of the pair, and write its design with --design. fold leaves both loops in the file.",
    example: "unloop find robot.xml --design designs",
};

pub(super) const NO_RANGE: Explanation = Explanation {
    title: "a joint of a double loop has no limits",
    meaning: "Pitch or roll of two loops on one body turns without limits in the file.",
    matters: "The verdict on two rods is over the ranges of both joints together, and it gets worse towards their corners. \
        Without ranges there is nothing that it could be over.",
    cure: "Give the joint the range that the robot uses.",
    example: "<joint name=\"ankle_pitch\" range=\"-0.6 0.4\"/>",
};

pub(super) const LEFT_OUT: Explanation = Explanation {
    title: "something of the file is not in the loop's design",
    meaning: "The file says something of the pins of the rods, of the joints that they turn or of the motors that the design \
        has no place for.",
    matters: "The verdict stands for the geometry and the masses, and is silent on what is named here.",
    cure: "Look at what is named. Where it matters give it to the joints that stand in by hand.",
    example: "unloop find robot.xml --full",
};

pub(super) const NOT_FOUR_JOINTS: Explanation = Explanation {
    title: "a loop of other than four or five bodies",
    meaning: "With three bodies or fewer a loop is rigid or turns about one line. With more than five, one motor does not fix \
        its pose, unless several joints act together.",
    matters: "The formulas of a four-bar do not hold. Nothing is said about such a loop rather than something wrong.",
    cure: "If two of the joints are always locked or lie on one axis, write them as one. Otherwise keep the loop.",
    example: "unloop find robot.xml --json",
};

pub(super) const SLIDER: Explanation = Explanation {
    title: "a joint of the loop slides",
    meaning: "One of the joints is prismatic. It is no four-bar with four hinges: a nut in a housing between two pins is a linear \
        actuator, a nut on the carrier that pushes a rod a slider.",
    matters: "The length that would be fixed changes, so that ratio and limits follow other formulas.",
    cure: "With the motor on the slide the loop is judged and folded as that kind of drive; what else stands against it is named \
        beside this.",
    example: "<joint name=\"cylinder\" type=\"prismatic\">",
};

pub(super) const OTHER_JOINT: Explanation = Explanation {
    title: "a joint of the loop is neither hinge nor ball",
    meaning: "The loop has a joint with more than one freedom, or one of a kind that is not read, such as a screw or a free \
        joint.",
    matters: "Its bodies are not held as those of a plane four-bar are.",
    cure: "Write the joint as the hinge that it is on the robot, if it is one.",
    example: "<joint name=\"rod_upper\" type=\"revolute\">",
};

pub(super) const SEVERAL_JOINTS: Explanation = Explanation {
    title: "two bodies of the loop are held by several joints in a row",
    meaning: "Between two bodies stand several joints on one body. Two hinges that cross in one point are a universal joint, and \
        do for an end of a rod in space; others are not read as one.",
    matters: "Which axis the linkage turns about depends on the others. It is not guessed.",
    cure: "Write a ball joint, or two hinges that cross in one point, at an end of the rod; or hinges throughout.",
    example: "<joint type=\"ball\"/>    <!-- MJCF, at one end of the rod -->",
};

pub(super) const CROSS_BODY: Explanation = Explanation {
    title: "a body of the loop only holds two crossed hinges apart",
    meaning: "The cross of a universal joint stands in the file as a body of its own, between two hinges whose axes meet.",
    matters: "With it the loop has five bodies. What the cross weighs would have to go into the rod's end.",
    cure: "Write both hinges as joints of the rod's own body and add the cross's mass to it.",
    example: "<body name=\"rod\"> <joint axis=\"1 0 0\"/> <joint axis=\"0 1 0\"/> ...",
};

pub(super) const OVER_CONSTRAINED: Explanation = Explanation {
    title: "the ends of a rod in space leave it too few turns",
    meaning: "Axes that are not parallel need five turns at the two ends of the rod: a ball at one, and a ball or two crossed hinges \
        at the other. With less, or where the rod comes in line with crossed hinges, rigid bodies cannot move.",
    matters: "An engine would bend the constraint, and a real drive lives on play. Figures of a drive with balls would be those of \
        another mechanism.",
    cure: "Write the rod's ends as the balls that they are, or make the axes parallel where they are so on the robot.",
    example: "<joint name=\"rod_upper\" type=\"ball\"/>",
};

pub(super) const MOTOR_ELSEWHERE: Explanation = Explanation {
    title: "the motor is not on the slide of the loop",
    meaning: "The loop has a slide, and a motor works on another of its joints: the slide only follows, as a damper does, or turns \
        into what is driven.",
    matters: "A linear drive has its motor on the slide. Another is no drive that is known here, and is left as it is.",
    cure: "Name the slide with --motor if the motor is there on the robot. Otherwise keep the loop.",
    example: "unloop find robot.xml --motor ankle_screw",
};

pub(super) const NO_HINGE: Explanation = Explanation {
    title: "no hinge at the carrier",
    meaning: "Crank and child turn on the carrier by hinges. Here one of the two is held by a ball, or by the loop's closure \
        alone, so that its axis is not in the file.",
    matters: "The axis of the motor or of the driven joint gives the plane of the linkage, and it is what a direct joint \
        would turn about.",
    cure: "Write both joints at the carrier as hinges and close the loop at one end of the rod.",
    example: "<joint name=\"ankle\" type=\"hinge\" axis=\"0 1 0\"/>",
};

pub(super) const PINS_COINCIDE: Explanation = Explanation {
    title: "two pins of one body lie in line along the axis",
    meaning: "Seen along the axis two pins fall together: one of the four lengths is zero.",
    matters: "A crank or rocker without a length moves nothing. Mostly the place of a pin was left at the origin.",
    cure: "Correct the place of the pin in the file.",
    example: "<origin xyz=\"-0.045 0.02 0\"/>    <!-- not 0 0.02 0 -->",
};

pub(super) const SPATIAL: Explanation = Explanation {
    title: "the axes of the loop are not parallel",
    meaning: "A hinge's axis is tilted against that of the driven joint. The linkage does not move in a plane; with balls on \
        its rod it may still move, as a spatial linkage.",
    matters: "Ratio and limits of the plane formulas would be wrong, by little or by much.",
    cure: "If the axes are parallel on the robot, write them so: a few digits are often lost in an export. With balls at the rod's \
        ends the loop is judged and folded as a drive of kind ball_rod.",
    example: "<axis xyz=\"0 1 0\"/>    <!-- at every pin -->",
};

pub(super) const COUPLER_BEARS: Explanation = Explanation {
    title: "the coupler is more than a rod",
    meaning: "A link hangs on the rod itself, or it touches things with more than a bar, or bears a sensor: it moves as the \
        coupler does, not as the rocker.",
    matters: "A direct joint moves the rocker alone. What hangs on the rod would be left behind.",
    cure: "Keep the loop. Where the part is none, take it out of the file, or name the body that is carried with --child.",
    example: "unloop find gripper.xml --child foot",
};

pub(super) const PARALLEL_JAW: Explanation = Explanation {
    title: "a parallel jaw: the coupler is what is carried",
    meaning: "The rod touches things, or bears the pad or a sensor, while both arms on the carrier are bars: the finger of a \
        parallel gripper.",
    matters: "The coupler keeps its attitude while the arms turn. A joint that turned it with an arm would tilt the pad; a pair \
        of hinges that turn against each other keeps it.",
    cure: "fold keeps driver and finger, takes the passive arm out and has the finger follow the driver. If an arm is what is \
        carried, name it with --child.",
    example: "unloop fold gripper.xml --all -o tree.xml",
};

pub(super) const PAD_UNKNOWN: Explanation = Explanation {
    title: "nothing says where the pad of a jaw is",
    meaning: "The coupler is what is carried, but it has neither a shape that is read, nor a site called pad, nor a mass: there is \
        no point to take for the pad.",
    matters: "Opening, shift and grip belong to the point where the finger touches. A guess would give figures of another finger.",
    cure: "Give the finger a geom or site called pad where it touches, or a mass.",
    example: "<site name=\"pad_left\" pos=\"0.010 0 0.030\"/>",
};

pub(super) const NO_TRAVEL: Explanation = Explanation {
    title: "the pad of a jaw travels nowhere",
    meaning: "At mid-stroke the pad point hardly moves, or moves along the axis: no closing direction follows from the file.",
    matters: "Opening and grip are told along the closing direction. Without one there is nothing to tell.",
    cure: "Is the joint's range the one that the gripper uses? Write the design by find --design and give [finger] closing by hand.",
    example: "[finger]\nclosing = [-1.0, 0.0]    # from the pad towards the object",
};

pub(super) const MULTIPLIER: Explanation = Explanation {
    title: "the finger's joint follows its driver besides the loop",
    meaning: "The file has both a closed loop and a coupling (a mimic, an equality) that turns the finger's joint by a constant \
        times its driver. The linkage's own figure over the stroke stands beside it.",
    matters: "Where the two differ, loop and coupling pull against each other: the engine bends one of them, and forces at the pads \
        are not those of the gripper.",
    cure: "Keep one of the two. fold takes the loop out and writes the coupling that belongs to the linkage.",
    example: "unloop fold gripper.xml --all -o tree.xml",
};

pub(super) const MOTOR_UNKNOWN: Explanation = Explanation {
    title: "nothing says which joint is the motor's",
    meaning: "No actuator, transmission, tendon or coupling of the file drives a joint of this loop, so that either joint on the \
        carrier may be the motor's. Lengths and ratio are shown both ways.",
    matters: "Taken the wrong way round, the ratio is the other's inverse, and the child is taken for the crank.",
    cure: "Name the motor's joint, once for each loop, on the command line or where the loop is stated.",
    example: "unloop find biped.sdf --motor left_ankle_motor --motor right_ankle_motor",
};

pub(super) const CHILD_UNKNOWN: Explanation = Explanation {
    title: "nothing says which body is carried",
    meaning: "No body of the loop touches things, bears joints or sensors, or looks like more than a bar; and the one that would \
        be taken for crank or rod weighs most.",
    matters: "Crank and rod go when a loop is folded. The part that does the work must not be among them.",
    cure: "Name the link that is carried with --child, or with child = \"...\" where the loop is stated.",
    example: "unloop find leg.urdf --loops leg.loops.toml --child foot",
};

pub(super) const DRIVEN_TWICE: Explanation = Explanation {
    title: "both joints on the carrier are driven",
    meaning: "Actuators work on the crank and on the child's own joint: one of them is too many, or the two work against each \
        other.",
    matters: "Which torque the joint has then does not follow from one motor.",
    cure: "Name the joint of the motor that counts, or take the other actuator out.",
    example: "unloop find leg.xml --motor ankle_motor",
};

pub(super) const CHILD_DRIVEN: Explanation = Explanation {
    title: "the motor sits on the child's own joint",
    meaning: "The part that is carried is driven where it hangs; crank and rod follow it without driving anything.",
    matters: "Angle and ratio of a direct joint are exact then: it is there already. Crank and rod are the parts that may go, and \
        their inertia is all that is lost.",
    cure: "Nothing, if that is the robot. Otherwise name the motor's joint with --motor and the link with --child.",
    example: "unloop find leg.xml --motor ankle_motor --child foot",
};

pub(super) const HELD_AT_STOP: Explanation = Explanation {
    title: "a spring holds a joint of the loop at its stop",
    meaning: "The loop has five hinges and a soft spring that cannot come to rest: while nothing touches it pushes one joint \
        against its limit, as in an adaptive finger. The loop is measured with that joint there.",
    matters: "In free motion it is a four-bar. When a part touches something the joint leaves its stop and the finger closes \
        round the object: no direct joint does that.",
    cure: "Keep the loop where the finger is to adapt: it is never folded with its elbow rigid.",
    example: "<joint name=\"elbow\" range=\"-1.5 0\"/>    <!-- held at 0 -->",
};

pub(super) const CRANK_BEARS: Explanation = Explanation {
    title: "the crank bears further joints",
    meaning: "Something else hangs on the crank beside the rod: a second rod, another linkage.",
    matters: "When the linkage is folded the crank goes, and with it what hangs on it.",
    cure: "Keep the loop, or take the other drive out first.",
    example: "unloop find robot.xml",
};

pub(super) const DRIVEN_PIN: Explanation = Explanation {
    title: "a pin of the rod is driven",
    meaning: "An actuator works on one of the rod's own pins. The motor of a four-bar drive sits on the carrier.",
    matters: "The torque at the joint then does not follow from the motor at the carrier alone.",
    cure: "Check what the actuator is for. If the file names the wrong joint, correct it.",
    example: "<motor joint=\"ankle_motor\"/>    <!-- the joint at the carrier -->",
};

pub(super) const TENDON: Explanation = Explanation {
    title: "a tendon acts on the loop",
    meaning: "A tendon with stiffness, damping, friction, armature or a range passes over a joint of the loop, or an equality \
        ties its length.",
    matters: "It pulls, brakes or stops the linkage. No figure of the verdict has it in it, and a direct joint would lose it.",
    cure: "Keep the loop where the tendon matters. Otherwise take these properties out and know what is left out.",
    example: "<fixed name=\"ankle_length\"> <joint joint=\"ankle\" coef=\"1\"/> </fixed>    <!-- only measures -->",
};

pub(super) const HELD_STILL: Explanation = Explanation {
    title: "a joint of the loop is held still",
    meaning: "An equality of one joint alone holds a joint of the loop at a constant reading.",
    matters: "The loop does not move then, whatever its motor does.",
    cure: "Take the equality out, or switch it off, to have the loop judged.",
    example: "<joint joint1=\"ankle_motor\" polycoef=\"0 0 0 0 0\" active=\"false\"/>",
};

pub(super) const UNREAD_FIGURES: Explanation = Explanation {
    title: "a joint of the loop springs or brakes by figures that are not read",
    meaning: "A joint of the loop has a springdamper, whose stiffness and damping the engine makes from the masses, or a stiffness or \
        damping of more than one figure, which grows with the turn or the speed.",
    matters: "It acts on the linkage. No figure of the verdict has it in it, and a direct joint would lose it.",
    cure: "Write one stiffness and one damping that do the same over the stroke, or keep the loop.",
    example: "<joint name=\"ankle_motor\" axis=\"0 1 0\" stiffness=\"20\" damping=\"0.4\"/>",
};

pub(super) const SHARES_JOINTS: Explanation = Explanation {
    title: "two loops share joints",
    meaning: "Another loop of the file runs through joints of this one. The two move together.",
    matters: "A verdict over one of them alone would leave out what the other does to it.",
    cure: "Keep both loops. If one of them is there twice (stated and in the file), take one out.",
    example: "unloop find robot.xml --json",
};

pub(super) const SPRING: Explanation = Explanation {
    title: "a spring in the loop",
    meaning: "A joint of the loop has stiffness: a series spring, a bush, a return spring. Where the loop has more than four \
        joints such a spring is held rigid, at its rest; across one of the four joints it only adds its torque.",
    matters: "A series spring gives way under load, so that joint and motor angle differ. A return spring loads the motor.",
    cure: "Keep the loop where the spring matters. Otherwise take the stiffness out and know what is left out.",
    example: "<joint name=\"rod_lower\" type=\"hinge\" stiffness=\"0\"/>",
};

pub(super) const OPEN: Explanation = Explanation {
    title: "the loop does not close in the drawn pose",
    meaning: "With the joints as drawn, rod and lever do not meet: the lengths in the file cannot be assembled at that crank \
        angle.",
    matters: "An engine forces the ends together or lets them hang apart; either way it is another robot.",
    cure: "Correct the place of the pin that is off by the length in the message.",
    example: "at = [\"0 mm\", \"0 mm\", \"-300 mm\"]",
};

pub(super) const DRAWN_OPEN: Explanation = Explanation {
    title: "the two sides of a pin stand apart as drawn",
    meaning: "The closure's two points, one on each body, are not at the same place in the drawn pose. The lengths that are \
        shown are each body's own.",
    matters: "An engine jumps to close the gap at its first step, and the zero of the joints is then another than drawn.",
    cure: "Move one of the two points, or draw the file in a pose in which the loop is closed.",
    example: "<connect body1=\"rod\" body2=\"foot\" anchor=\"0 0 -0.3\"/>",
};

pub(super) const DRAWN_FLAT: Explanation = Explanation {
    title: "the loop is drawn with all four pins in line",
    meaning: "The drawn pose is a change point. From there the linkage can leave in two ways, and the file does not say which.",
    matters: "As a parallelogram or as an antiparallelogram it has another ratio, even another sense.",
    cure: "Draw the file in another pose, with the crank well off the ground line.",
    example: "<key name=\"home\" qpos=\"0.5 ...\"/>",
};

pub(super) const NO_MOTION: Explanation = Explanation {
    title: "the joint limits leave no motion",
    meaning: "The limits of the loop's joints, taken together through the linkage, have no pose in common on the branch that \
        is drawn.",
    matters: "There is no stroke to judge. Often one limit counts from another zero or in degrees instead of radians.",
    cure: "Check the limits of all four joints, and the angle unit of the file.",
    example: "<limit lower=\"-0.7\" upper=\"0.6\"/>    <!-- rad -->",
};

pub(super) const NOT_JUDGED: Explanation = Explanation {
    title: "the loop cannot be judged",
    meaning: "The loop was measured, but as a design it has a fault; the message has it.",
    matters: "No verdict is given where the figures do not make a linkage.",
    cure: "Write the loop as a design and mend it there: `unloop find ROBOT --design FOLDER`, then `unloop check`.",
    example: "unloop find robot.urdf --design loops",
};

pub(super) const NO_MASS: Explanation = Explanation {
    title: "the child weighs nothing in the file",
    meaning: "The driven link has no mass, so that there is no kinetic energy to compare.",
    matters: "The inertia criterion is not assessed; the verdict rests on angle, ratio and transmission angle.",
    cure: "Give the link its mass and inertia, or know that inertia is not part of the verdict.",
    example: "<mass value=\"0.95\"/>",
};

pub(super) const INERTIA_WITHOUT_ROTOR: Explanation = Explanation {
    title: "inertia is not part of the verdict: the file gives no rotor",
    meaning: "Most of what a motor weighs at the joint is its rotor, times the gear ratio squared. The file has no armature for \
        it, so that only crank and rod can be counted.",
    matters: "The error of inertia in the message is that of crank and rod alone. It is not held against a limit.",
    cure: "Give the rotor as the motor joint's armature (MJCF), or write the loop as a design and add rotor_inertia and \
        gear_ratio there.",
    example: "[actuator]\ngear_ratio    = 7.75\nrotor_inertia = \"1.5e-4 kg m2\"",
};

pub(super) const ANCHOR_FREEZES_POSE: Explanation = Explanation {
    title: "one anchor: an engine takes the lengths from the drawn pose",
    meaning: "The loop is within a hair of a parallelogram or another special form. The file gives the closing pin once, and \
        an engine works out its place on the other body from the drawn pose, with all the rounding of the joints there.",
    matters: "A parallelogram that is off by a hair behaves otherwise near its change points.",
    cure: "Give the pin's place on both bodies, by two sites, or check that the drawn pose has all its digits.",
    example: "<connect site1=\"rod_end\" site2=\"lever_end\"/>",
};

pub(super) const SOFT_LOOP: Explanation = Explanation {
    title: "the file's loop is soft",
    meaning: "The constraint that closes the loop has a longer time constant or a smaller impedance than the engine gives it by \
        itself. Under load its two points part.",
    matters: "The verdict is of the rigid linkage that the file draws. What the engine makes of the loop lags behind it, so that \
        a policy trained on that loop has met another joint than the one that is judged.",
    cure: "Where the linkage itself is rigid, make the constraint stiffer, with a shorter time step if need be, or fold the loop.",
    example: "<connect site1=\"rod_end\" site2=\"lever\" solref=\"0.004 1\" solimp=\"0.999 0.9999 0.001\"/>",
};

pub(super) const TIED_OTHERWISE: Explanation = Explanation {
    title: "crank and driven joint are tied with another ratio than the linkage has",
    meaning: "The file holds the closed loop and, besides, a mimic or an equality between the motor's joint and the driven one. \
        Nowhere on its stroke has the linkage the ratio that this says.",
    matters: "Both hold at once only in one pose: in an engine the joint does not move, or the two fight.",
    cure: "Take one of the two out: the loop, if the tie is meant to stand for it, or the tie.",
    example: "<joint joint1=\"ankle\" joint2=\"ankle_motor\" polycoef=\"0 1.3 0 0 0\"/>",
};

pub(super) const INERTIA_WITHOUT_MASSES: Explanation = Explanation {
    title: "inertia is no part of the verdict, since a part weighs nothing",
    meaning: "A body of the drive has no mass in the file: the housing, the nut, the rod, the crank or the child.",
    matters: "What the direct joint would weigh in place of the drive cannot be told. Angle, ratio and margins are judged without it.",
    cure: "Give every part its mass, mass centre and inertia, then look again.",
    example: "<inertial pos=\"0 0 -0.045\" mass=\"0.22\" diaginertia=\"2.2e-4 2.2e-4 3e-5\"/>",
};
