"""What a page may ask: named operations, typed requests and answers, errors as data. No input or output."""
