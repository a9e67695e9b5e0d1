//! Faults of what is written in the design file.

use super::Explanation;

pub(super) const UNIT_MISSING: Explanation = Explanation {
    title: "a number stands where a number and its unit belong",
    meaning: "Every quantity in a design carries its unit and stands in quotation marks. Only what has no unit is a bare \
        number: the gear ratio, [direct_joint] ratio, a direction, a coefficient of friction.",
    matters: "45 may be millimetres or degrees, and 0.02 two per cent or a fiftieth of one. A guess that is wrong by a \
        thousand looks like any other figure.",
    cure: "Write the unit behind the number. Lengths: mm, cm, m, in, um. Angles: deg, rad, mrad. Shares: %. The message \
        names those that fit.",
    example: "crank = \"45 mm\"\nratio = \"2 %\"     # [accept] ratio, a share\nratio = 1.0       # [direct_joint] ratio, a plain number",
};

pub(super) const UNKNOWN_KEY: Explanation = Explanation {
    title: "a table or key that no design has",
    meaning: "The file has a name that is not known at this place: it is misspelt, or stands under the wrong table. In \
        TOML a line belongs to the last [table] above it.",
    matters: "A line that is silently passed over would leave a default in its place: a tolerance that is not judged, a \
        limit that does not hold.",
    cure: "Take the name that the message suggests, or move the line. `unloop new` writes a design with every table and \
        key; `unloop schema design` lets an editor complete and check the names while you type.",
    example: "name = \"ankle_pitch\"    # above the first table\n\n[linkage]\ncoupler = \"300 mm\"      # not copler",
};

pub(super) const SET_BY_MISSING: Explanation = Explanation {
    title: "a tolerance is drawn, but not how a built robot finds its zero",
    meaning: "The lengths of built robots scatter, so the rocker of each stands elsewhere when the crank is in its drawn \
        pose. Whether that counts as an error depends on how the zero is set. \"jig\": on each robot the crank is set to \
        its drawn angle, and motor and joint are both zeroed there. \"drawing\": the crank is set to its drawn angle, and \
        the joint is taken to be where the drawing has it.",
    matters: "With a jig the error in the zero pose is 0 on every robot, and only its growth along the stroke is left. \
        Without one the whole shift of the rocker is an error, often the larger part. The two verdicts can differ.",
    cure: "Add the line that says what is done in your assembly. If nobody knows, \"drawing\" is the cautious one.",
    example: "[zero]\ncrank  = \"90 deg\"\nrocker = \"90 deg\"\nset_by = \"jig\"    # or \"drawing\"",
};

pub(super) const TOLERANCE_MISSING: Explanation = Explanation {
    title: "a verdict over a tolerance that is not drawn",
    meaning: "over = \"tolerance\" asks for a verdict over every linkage inside the drawn tolerances, but no length and no \
        zero angle carries one.",
    matters: "A verdict over nothing but the drawn lengths must not look like one over all that may be built.",
    cure: "Draw the tolerances, or write over = \"nominal\" and mean the drawn linkage alone. Where tolerances are drawn, \
        \"tolerance\" is the default.",
    example: "[linkage]\ncrank = \"45 ±0.05 mm\"\n\n[accept]\nover = \"tolerance\"",
};

pub(super) const INERTIA_CANNOT_BE_JUDGED: Explanation = Explanation {
    title: "a limit of inertia without the masses to judge it",
    meaning: "[accept] inertia was written by hand, so it has to be judged. That takes the kinetic energy of both models, \
        and so at least the child's mass and the actuator's rotor.",
    matters: "A limit that is asked for and not judged would read like one that holds. From a preset it is listed as \
        \"not assessed\" instead, and does not count.",
    cure: "Add [mass.child] and [actuator] with rotor_inertia and gear_ratio (and [mass.crank], [mass.coupler] for the \
        full figure), or take the line out.",
    example: "[mass.child]\nmass    = \"0.9 kg\"\ncenter  = [\"-30 mm\", \"-40 mm\"]\ninertia = \"3.5e-3 kg m2\"\n\n\
        [actuator]\ngear_ratio    = 7.75\nrotor_inertia = \"1.5e-4 kg m2\"",
};

pub(super) const NO_REAL_BODY: Explanation = Explanation {
    title: "no real body has these moments of inertia",
    meaning: "The principal moments of a body about its mass centre are positive, and none is larger than the other two \
        together: each is made of two of the same three sums. The figures break one of the two rules.",
    matters: "Simulators refuse such a body, or gain energy with it. Often the cause is a moment about another point than \
        the mass centre, products of inertia with the other sign, or figures in another order.",
    cure: "Take the tensor about the mass centre, in the order xx, yy, zz, xy, xz, yz, products as tensor entries: xy is \
        minus the sum of x y dm, and some CAD programs show it with the other sign. For a link that is emitted with --whole: give the link's full mass; one \
        that bears the motor weighs more than its drive's shares.",
    example: "inertia = [\"1.2e-3 kg m2\", \"3.1e-3 kg m2\", \"3.5e-3 kg m2\", \"0 kg m2\", \"0 kg m2\", \"0 kg m2\"]",
};

pub(super) const ROTOR_BEYOND_CARRIER: Explanation = Explanation {
    title: "the carrier cannot hold the rotor that it is said to hold",
    meaning: "rotor_in_carrier = true (the default) says that [mass.carrier] was weighed with the motor's rotor in it. Then \
        the carrier's inertia about the motor axis is at least the rotor's; here it is less.",
    matters: "The rotor's share is taken off the carrier before it is given to the joint. A carrier that ends below zero \
        is no body, and every figure of kinetic energy made with it is worth nothing.",
    cure: "Check the unit: data sheets give rotors in g cm2 or kg cm2, and the figure is that of the rotor itself, before \
        the gearbox. If [mass.carrier] leaves the rotor out, write rotor_in_carrier = false.",
    example: "[actuator]\ngear_ratio       = 7.75\nrotor_inertia    = \"1.5e-4 kg m2\"    # 1.5 kg cm2\nrotor_in_carrier = true",
};

pub(super) const OUTSIDE_THE_STANDARD: Explanation = Explanation {
    title: "a standard has no value for this size",
    meaning: "The tables of ISO 2768-1 and ISO 286 have a value for each range of sizes, and end somewhere; some classes \
        have no value for the smallest sizes. This size is beyond the table.",
    matters: "A value that is carried on past the end of a table has no standard behind it, and no shop would know it.",
    cure: "Write the deviations themselves, or the clearance of the pin, as they stand on the drawing.",
    example: "coupler = \"4.5 ±0.02 mm\"                   # instead of a class\n\
        rocker  = { clearance = \"0.03 ±0.02 mm\" }    # under [pins], instead of a fit",
};

pub(super) const AXES_NOT_PARALLEL: Explanation = Explanation {
    title: "the axes of the linkage and of the robot's joint are not parallel",
    meaning: "The linkage moves in a plane, so its four axes are parallel, and the joint's axis in the robot is one of \
        them. [pivots] axis and [[robot]] axis are more than 1 mrad (0.06 deg) apart.",
    matters: "With slanting axes the rod needs ball joints and the motion is not planar any more: none of the figures \
        would hold. Most often one of the two axes is written in another link's frame.",
    cure: "Write both in the parent link's frame. If the axes really are not parallel, this program does not cover the \
        linkage.",
    example: "[pivots]\naxis = [0, 1, 0]\n\n[[robot]]\naxis = [0.0, 1.0, 0.0]",
};

pub(super) const MOTOR_OFF_GROUND: Explanation = Explanation {
    title: "motor_at is not the ground length away from the joint",
    meaning: "[[robot]] origin and motor_at place joint axis and motor axis in the parent link. Across the axis their \
        distance is the ground length of the linkage; here it is not (to 0.1 mm or 0.1 %).",
    matters: "The two points place the linkage in the robot: rod and crank of a coupled or closed model, and the inertia \
        of the parts, would stand in the wrong place.",
    cure: "Correct the one that is wrong. Distance along the axis does not count. Both are in the parent link's frame; \
        mind the sign.",
    example: "[linkage]\nground = \"300 mm\"\n\n[[robot]]\naxis     = [0.0, 1.0, 0.0]\n\
        origin   = [\"0 mm\", \"0 mm\", \"-300 mm\"]\nmotor_at = [\"0 mm\", \"25 mm\", \"0 mm\"]    # 25 mm along the axis are free",
};
