"""Jobs: proposed, accepted, done step by step, proved, released, re-checked."""
