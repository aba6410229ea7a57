"""Room: invented. Trail parks, rides and recordings that do not exist, with known truth."""
