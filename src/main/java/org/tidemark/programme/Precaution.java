package org.tidemark.programme;

import java.time.LocalDate;
import java.util.Optional;
import org.tidemark.quantity.Amount;

/**
 * A limit that someone with authority over the person has set. It wins over everything the service
 * computes.
 *
 * @param text what it says, in the words of whoever set it
 * @param scope which exercises it is about
 * @param measure the code of the progression variable or measure of the body that is limited; empty
 *     when every exercise in scope is forbidden
 * @param least the least value allowed, included; empty when there is none
 * @param most the greatest value allowed, included; empty when there is none
 * @param from first day
 * @param until last day, included; empty when open
 * @param needsClearance whether it stays in force past its last day until it is lifted
 * @param lifted whether it has been lifted; it then ends with its last day
 */
public record Precaution(
    String text,
    Scope scope,
    Optional<String> measure,
    Optional<Amount> least,
    Optional<Amount> most,
    LocalDate from,
    Optional<LocalDate> until,
    boolean needsClearance,
    boolean lifted) {

  /** Which exercises a precaution is about. */
  public enum Scope {
    ALL,
    /** Those in which the limb carries body weight or more. */
    LOADED,
    UNLOADED
  }

  /**
   * Whether it holds on a day: both the last day must have passed and, where asked, clearance must
   * have been given.
   */
  public boolean holdsOn(LocalDate day) {
    boolean begun = !day.isBefore(from);
    boolean past = until.map(day::isAfter).orElse(false);
    boolean over = needsClearance && !lifted ? false : past || (lifted && until.isEmpty());
    return begun && !over;
  }

  /** The same limit with another last day. */
  public Precaution until(LocalDate day) {
    return new Precaution(
        text, scope, measure, least, most, from, Optional.of(day), needsClearance, lifted);
  }

  boolean concerns(Variation variation) {
    return switch (scope) {
      case ALL -> true;
      case LOADED -> variation.loadBearing();
      case UNLOADED -> !variation.loadBearing();
    };
  }

  boolean allows(Amount value) {
    return !least.map(value::isBelow).orElse(false) && !most.map(value::isAbove).orElse(false);
  }
}
