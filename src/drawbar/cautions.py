"""The cautions that go with results. Each defers to the code in force and to licensed practice."""

from __future__ import annotations

AID = "This is a calculation aid. It does not say that an installation meets any code."
LICENCE = "Gas work is for a licensed gasfitter, who checks these figures and answers for the work."
LOCAL_CODE = "The local code in force prevails over every figure here."
PROVE = "Prove the finished line: a tightness test, then a working-pressure test at each appliance with all of them on."

CHECK_CAUTIONS = (AID, LICENCE, LOCAL_CODE, PROVE)
