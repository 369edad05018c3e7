package org.tidemark.quantity;

import java.util.Arrays;
import java.util.Optional;

/** The units that amounts are held in, each named by its UCUM code. */
public enum Unit {
  CENTIMETRE("cm"),
  DEGREE("deg"),
  KILOGRAM("kg"),
  MINUTE("min"),
  SECOND("s"),
  SCORE("{score}"),
  COUNT("1");

  private final String ucum;

  Unit(String ucum) {
    this.ucum = ucum;
  }

  /** The UCUM code of this unit. */
  public String ucum() {
    return ucum;
  }

  /** The unit that has this UCUM code exactly, if it is one of ours. */
  public static Optional<Unit> find(String ucum) {
    return Arrays.stream(values()).filter(unit -> unit.ucum.equals(ucum)).findFirst();
  }
}
