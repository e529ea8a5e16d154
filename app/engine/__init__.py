"""What would happen: pure functions over one plan, numpy in, frozen results out. No web, no database, no clock."""
