package org.tidemark.decision;

import java.util.List;
import java.util.Optional;
import org.tidemark.demand.Ratio;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;

/**
 * A difference between two prescriptions: at most one thing harder, and any number of things easier
 * with it.
 *
 * @param kind what sort of change
 * @param variation the code of the variation it is about
 * @param variable the code of the variable that moves; blank for a dose or a stage
 * @param from what it was, as text; blank where nothing was
 * @param to what it becomes, as text
 * @param eased the codes of what is made easier with it
 */
public record Change(
    Kind kind, String variation, String variable, String from, String to, List<String> eased) {

  /** What sort of change. */
  public enum Kind {
    /** The dose goes up. */
    DOSE,
    /** A progression variable is made harder. */
    VARIABLE,
    /** A new stage is entered. */
    STAGE,
    /** What the programme tries when range has stalled. */
    STALL,
    /** A clinician set it. */
    OVERRIDE,
    /** The last upward change is undone. */
    UNDONE,
    /** A variable or the dose is eased. */
    EASED,
    /** A first prescription. */
    PLACED
  }

  public Change {
    eased = List.copyOf(eased);
  }

  /** What names the same change when it is tried again. */
  public String key() {
    return variation + ":" + variable + ":" + to;
  }

  static String text(Value value) {
    if (value instanceof Amount amount) {
      return amount.toString();
    }
    return value instanceof org.tidemark.quantity.Grade grade
        ? grade.code()
        : String.valueOf(value);
  }

  /**
   * A piece of equipment that would open the way.
   *
   * @param item the code of the item
   * @param size its size
   */
  public record Piece(String item, Amount size) {}

  /**
   * A change that was weighed and not taken.
   *
   * @param change the change
   * @param why why it was not taken
   * @param missing the piece of equipment that would have opened the way, if there is one
   * @param demand what it would have asked beside what is in force, where that can be told
   */
  public record Considered(
      Change change, Reason why, Optional<Piece> missing, Optional<Ratio> demand) {

    /** A change that was not weighed for its size. */
    public static Considered of(Change change, Reason why) {
      return new Considered(change, why, Optional.empty(), Optional.empty());
    }
  }
}
