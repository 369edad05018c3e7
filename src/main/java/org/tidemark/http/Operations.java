package org.tidemark.http;

/**
 * Marks a bean whose methods HAPI offers as operations: it is registered with the server as a plain
 * provider.
 */
public interface Operations {}
