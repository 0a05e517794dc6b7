mod probe;
