package org.tidemark.fhir;

import java.util.List;
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
   * What a check found.
   *
   * @param findings one or more
   * @return an OperationOutcome with an issue for each
   */
  public static OperationOutcome of(List<RecordCheck.Finding> findings) {
    OperationOutcome outcome = new OperationOutcome();
    for (RecordCheck.Finding finding : findings) {
      OperationOutcome.OperationOutcomeIssueComponent issue =
          outcome
              .addIssue()
              .setSeverity(finding.severity())
              .setCode(finding.isError() ? IssueType.INVALID : IssueType.INFORMATIONAL)
              .setDiagnostics(finding.text());
      issue.getDetails().setText(finding.text());
      if (finding.isError()) {
        issue
            .getDetails()
            .addCoding()
            .setSystem(Problem.CODE_SYSTEM)
            .setCode(Problem.Kind.NOT_VALID.code());
      }
      if (!finding.expression().isEmpty()) {
        issue.addExpression(finding.expression());
      }
    }
    return outcome;
  }

  /**
   * An answer that says that all is well.
   *
   * @param text a sentence
   */
  public static OperationOutcome information(String text) {
    OperationOutcome outcome = new OperationOutcome();
    outcome
        .addIssue()
        .setSeverity(IssueSeverity.INFORMATION)
        .setCode(IssueType.INFORMATIONAL)
        .setDiagnostics(text)
        .getDetails()
        .setText(text);
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
