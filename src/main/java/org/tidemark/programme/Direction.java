package org.tidemark.programme;

/** Which way a progression variable moves when the exercise gets harder. */
public enum Direction {
  INCREASE,
  DECREASE
}
