"""What the player types into while hitting balls: the quick entry of shots and the drill. Handed callbacks only."""
