"""What is erased after its time, and the archive that keeps it."""
