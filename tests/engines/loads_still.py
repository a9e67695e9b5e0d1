"""Loads MJCF texts in MuJoCo: one JSON object with "closed" and "folded" a line; answers a line each: "input" where the
engine refuses the closed one, "ok" where it takes both, else what it says of the folded one."""

import json
import sys

import mujoco


def fault(text):
    try:
        mujoco.MjModel.from_xml_string(text)
    except Exception as error:  # noqa: BLE001 - whatever the engine says
        return " ".join(str(error).split()) or "refused"
    return None


for line in sys.stdin:
    pair = json.loads(line)
    answer = "input" if fault(pair["closed"]) else fault(pair["folded"]) or "ok"
    print(answer, flush=True)
