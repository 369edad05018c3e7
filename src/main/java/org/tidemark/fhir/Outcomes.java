package org.tidemark.fhir;

import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.OperationOutcome.IssueSeverity;
import org.hl7.fhir.r4.model.OperationOutcome.IssueType;

/** Problems and faults as FHIR's OperationOutcome. */
public final class Outcomes {
  private Outcomes() {}

  /**
   * A refusal.
   *
   * @param problem why
   * @return an OperationOutcome with an issue for each of the problem's
   */
  public static OperationOutcome of(Problem problem) {
    return of(problem, IssueSeverity.ERROR);
  }

  /**
   * What was not done of a request that was carried out all the same.
   *
   * @param problem why not
   * @return an OperationOutcome with a warning for each of the problem's issues
   */
  public static OperationOutcome warning(Problem problem) {
    return of(problem, IssueSeverity.WARNING);
  }

  private static OperationOutcome of(Problem problem, IssueSeverity severity) {
    OperationOutcome outcome = new OperationOutcome();
    for (Problem.Issue issue : problem.issues()) {
      OperationOutcome.OperationOutcomeIssueComponent component =
          outcome
              .addIssue()
              .setSeverity(severity)
              .setCode(issue.kind().issueType())
              .setDiagnostics(issue.text());
      component
          .getDetails()
          .setText(issue.text())
          .addCoding()
          .setSystem(Problem.CODE_SYSTEM)
          .setCode(issue.kind().code());
      issue.expressions().forEach(component::addExpression);
    }
    return outcome;
  }

  /**
   * A fault of the service.
   *
   * @param id the id under which it is logged
   * @return an OperationOutcome that says nothing but the id
   */
  public static OperationOutcome fault(String id) {
    OperationOutcome outcome = new OperationOutcome();
    outcome
        .addIssue()
        .setSeverity(IssueSeverity.FATAL)
        .setCode(IssueType.EXCEPTION)
        .setDiagnostics("The service failed. Please report this id: " + id)
        .getDetails()
        .addCoding()
        .setSystem(Problem.CODE_SYSTEM)
        .setCode(Problem.FAULT);
    return outcome;
  }
}
