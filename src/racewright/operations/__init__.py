"""What can be asked: named operations, typed requests and answers, errors as data. No input or output."""
