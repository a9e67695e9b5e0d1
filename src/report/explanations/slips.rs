//! Warnings of slips of the pen.

use super::Explanation;

pub(super) const RADIANS_AS_DEGREES: Explanation = Explanation {
    title: "an angle in degrees has the figures of one in radians",
    meaning: "The stroke is less than 3 deg wide, or both angles of the zero pose are within 3.2 deg of the ground line. \
        Read as radians the same figures make a drive that assembles and runs over its stroke.",
    matters: "Over a stroke of half a degree every linkage looks like a direct joint. The verdict would be about a motion \
        that the robot never makes, and the joint limits would be 57 times too tight.",
    cure: "Write rad where radians were meant, or the figures in degrees. If the stroke is as small as it says, nothing \
        needs to be done.",
    example: "[stroke]\njoint = [\"-0.61 rad\", \"0.70 rad\"]    # not \"-0.61 deg\", \"0.70 deg\"",
};

pub(super) const DEGREES_AS_RADIANS: Explanation = Explanation {
    title: "an angle in radians has the figures of one in degrees",
    meaning: "An angle is given as more than a whole turn, in radians. Read as degrees the same figures make a drive that \
        assembles and runs over its stroke.",
    matters: "A crank angle of \"90 rad\" is 116.6 deg after fourteen turns, another pose than the one drawn; a stroke of \
        \"30 rad\" is nearly five turns.",
    cure: "Write deg where degrees were meant. Motor readings and stops may lie turns apart; then nothing needs to be done.",
    example: "[zero]\ncrank  = \"90 deg\"    # not \"90 rad\"\nrocker = \"90 deg\"",
};

pub(super) const UNIT_DIFFERS: Explanation = Explanation {
    title: "one length or pin is in another unit than all the others",
    meaning: "All lengths or pins are in one unit but for one line, and in the unit of the others that line fits them far \
        better: the longest bar is less than half as many times the shortest, and the drive runs over its stroke.",
    matters: "A pin that is 45 m away instead of 45 mm makes another linkage, with other dead points and another ratio. \
        What is said about it is true of that linkage, not of your robot.",
    cure: "Write the line in the unit of the others, or correct its figures. Units may be mixed: if the line is right as it \
        stands, nothing needs to be done.",
    example: "[pivots]\njoint  = [\"0 mm\", \"-300 mm\"]\nrocker = [\"-45 mm\", \"-300 mm\"]    # not [\"-45 m\", \"-300 mm\"]",
};

pub(super) const AXIS_DOES_NOT_FIT: Explanation = Explanation {
    title: "[pivots] axis does not fit the pins",
    meaning: "The pins of a four-bar turn about parallel axes, so that they are seen apart when one looks along the axis. \
        Along this one two of them are one point, or all four are seen nearly in line, or the pins share one coordinate and \
        the axis is not along it.",
    matters: "The linkage is what the pins look like along the axis. Along a wrong axis it has other lengths, and a joint \
        that turns about it moves the link in another plane.",
    cure: "Take the direction of the joint's shaft in the frame in which the pins are given. The message names the \
        direction across which the pins lie in one plane. Its sign decides which way positive angles turn.",
    example: "[pivots]\naxis  = [0, 1, 0]\nmotor = [\"0 mm\", \"0 mm\", \"0 mm\"]\njoint = [\"0 mm\", \"0 mm\", \"-300 mm\"]",
};

pub(super) const PINS_SWAPPED: Explanation = Explanation {
    title: "in another order the same pins are a parallelogram",
    meaning: "The four pins as given make a general linkage. With two of them exchanged they make a parallelogram to \
        0.1 %, which hardly happens by chance.",
    matters: "In the wrong order the bars run along other lines: ground and coupler may be diagonals of what is built. Ratio \
        and verdict are then those of a linkage that does not exist.",
    cure: "Compare each line with CAD: motor and joint are on the carrier, crank is the pin between crank and rod, rocker \
        the pin between rod and child link. Exchange the two that are named if they are wrong.",
    example: "[pivots]\nmotor  = [\"0 mm\", \"0 mm\"]\njoint  = [\"0 mm\", \"-300 mm\"]\ncrank  = [\"-45 mm\", \"0 mm\"]\n\
        rocker = [\"-45 mm\", \"-300 mm\"]",
};

pub(super) const LENGTH_OUT_OF_SCALE: Explanation = Explanation {
    title: "a bar is longer than 3 m or shorter than 0.5 mm",
    meaning: "Bars of robots' drives measure from some millimetres to some hundred millimetres. This one is far outside: \
        probably its unit is not the one that was meant.",
    matters: "Angles and ratio do not change with the scale, so that the verdict may still be right; tolerances, masses, \
        forces and the place of every pin in the robot file are wrong by the same factor.",
    cure: "Correct the unit. If you do build a linkage of this size, nothing needs to be done.",
    example: "[linkage]\nground = \"300 mm\"    # not \"300 m\"",
};

pub(super) const ROCKER_STANDS_STILL: Explanation = Explanation {
    title: "the rocker stands still in the stroke",
    meaning: "At a dead point the rocker turns back while the crank goes on. A kite whose coupler is as long as its crank, \
        and whose rocker is as long as its ground, has a circuit on which the rocker does not move at all.",
    matters: "The transmission ratio has no bound there, and a tolerance of any size changes it without bound: no constant \
        ratio, no largest tolerance and no spread can be given. The joint cannot drive the motor there.",
    cure: "End the stroke well before the dead point. Where the rocker never moves, the zero pose is on the wrong circuit, \
        or two lengths are in each other's place.",
    example: "[zero]\ncrank  = \"90 deg\"\nrocker = \"163 deg\"    # the circuit on which the rocker moves",
};
