package org.tidemark.report;

import java.time.LocalDate;
import java.util.List;
import java.util.Optional;
import org.tidemark.decision.Chronicle;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Side;

/**
 * Everything that the papers about a plan are written from.
 *
 * @param programme the programme of the plan, in the language of the paper
 * @param side the side of the body it is for
 * @param status the status of its CarePlan, as a code
 * @param chronicle how it has gone and how it stands
 * @param person whom it is for
 * @param clinic who answers for it
 * @param today the day on which the paper is written
 */
public record PaperPlan(
    Programme programme,
    Side side,
    String status,
    Chronicle chronicle,
    Person person,
    Clinic clinic,
    LocalDate today) {

  /**
   * A person.
   *
   * @param name empty where it is not known
   * @param born the day of birth, where it is known
   */
  public record Person(Optional<String> name, Optional<LocalDate> born) {}

  /**
   * A clinic.
   *
   * @param name its name
   * @param contact how it is reached, a line each; empty where that is not known
   */
  public record Clinic(String name, List<String> contact) {
    public Clinic {
      contact = List.copyOf(contact);
    }
  }
}
