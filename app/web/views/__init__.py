"""What templates are filled with: one frozen dataclass each, every field documented."""
