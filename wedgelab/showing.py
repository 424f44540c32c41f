"""How an answer shows itself in a notebook, without the pure layer knowing of DataFrames or HTML."""
