"""Years that no clock means: refused where they are written, so that no day counted from them overflows."""

import pytest

CLOCK = """
[[clocks]]
instrument = "cam"
clock_showed = {showed}
camera_wrote = {wrote}
"""
NOW, EVER, NEVER = "2026-01-21T08:30:00+00:00", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"


def is_refused(command, folder, place):
    """By both commands, in words."""
    for arguments in (("check", folder.path), ("annex", "damp", folder.path, "--unattended")):
        done = command(*arguments)
        assert done.code == 1, done
        assert place in done.err
        assert "1970 to 2199" in done.err


@pytest.mark.parametrize(("showed", "wrote"), [(EVER, NEVER), (NEVER, EVER), (NOW, NEVER), (EVER, NOW)])
def test_clocks_of_other_ages(command, folder, showed, wrote):
    folder.append(CLOCK.format(showed=showed, wrote=wrote))
    is_refused(command, folder, "clocks[0]")


@pytest.mark.parametrize("moment", [EVER, NEVER])
@pytest.mark.parametrize("key", ["surveyed_at", "taken_at"])
def test_visits_and_frames_of_other_ages(command, folder, key, moment):
    """A table of days to act within counts from the visit."""
    (folder.path / "hazard_classes.csv").write_text("code,class,act_within_days,source\n*,A,3650,own\n")
    was = {"surveyed_at": "2026-01-21T08:30", "taken_at": "2026-01-21T08:41"}[key]
    folder.replace(f"{key} = {was}:00+00:00", f"{key} = {moment}")
    is_refused(command, folder, key)


def test_a_camera_without_a_battery_begins_in_1970(command, folder):
    folder.append(CLOCK.format(showed=NOW, wrote="1970-01-01T00:00:00+00:00"))
    assert command("check", folder.path).code == 0
