"""Where the charted shots leave holes, where two do the same job, and how another bag would cover the targets."""
