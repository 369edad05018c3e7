package org.tidemark.http;

import ca.uhn.fhir.interceptor.api.Hook;
import ca.uhn.fhir.interceptor.api.Interceptor;
import ca.uhn.fhir.interceptor.api.Pointcut;
import ca.uhn.fhir.rest.server.exceptions.BaseServerResponseException;
import ca.uhn.fhir.rest.server.exceptions.UnclassifiedServerFailureException;
import jakarta.servlet.http.HttpServletResponse;
import java.util.Optional;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.tidemark.application.Faults;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;

/**
 * The one place where what went wrong becomes an HTTP status and an OperationOutcome: a problem by
 * its kind, what HAPI refuses by its status, and everything else as a fault, of which the client
 * learns only the id.
 */
@Interceptor
public final class ProblemAnswers {

  /** Turns any error into the answer that the client gets. */
  @Hook(Pointcut.SERVER_PRE_PROCESS_OUTGOING_EXCEPTION)
  public BaseServerResponseException answer(Throwable error, HttpServletResponse response) {
    Problem problem = problemIn(error);
    if (problem != null) {
      AccessFilter.challenge(response, problem, true);
      return refusal(problem.status(), problem);
    }
    if (error instanceof BaseServerResponseException refused && refused.getStatusCode() < 500) {
      return refused.getStatusCode() < 400 ? refused : refusal(refused);
    }
    Optional<Problem> outage = Faults.outage(error);
    if (outage.isPresent()) {
      return refusal(outage.get().status(), outage.get());
    }
    OperationOutcome outcome = Outcomes.fault(Faults.log(error));
    return new UnclassifiedServerFailureException(500, "The service failed.", outcome);
  }

  private static Problem problemIn(Throwable error) {
    for (Throwable at = error; at != null && at != at.getCause(); at = at.getCause()) {
      if (at instanceof Problem problem) {
        return problem;
      }
    }
    return null;
  }

  private static BaseServerResponseException refusal(BaseServerResponseException refused) {
    Problem.Kind kind =
        switch (refused.getStatusCode()) {
          case 401 -> Problem.Kind.UNAUTHORIZED;
          case 403 -> Problem.Kind.FORBIDDEN;
          case 404 -> Problem.Kind.NOT_FOUND;
          case 405 -> Problem.Kind.NOT_ALLOWED;
          case 412 -> Problem.Kind.VERSION_CONFLICT;
          case 413 -> Problem.Kind.TOO_LARGE;
          case 415 -> Problem.Kind.UNSUPPORTED_FORMAT;
          default -> Problem.Kind.BAD_REQUEST;
        };
    return refusal(refused.getStatusCode(), Problem.of(kind, said(refused)));
  }

  /** HAPI's sentence without its own numbers and class names. */
  private static String said(BaseServerResponseException refused) {
    String text = refused.getMessage() == null ? "The request is refused." : refused.getMessage();
    return text.replaceAll("HAPI-\\d+: ", "")
        .replaceAll("\\b(?:[a-z0-9]+\\.){2,}[A-Z]\\w*:? ?", "");
  }

  private static BaseServerResponseException refusal(int status, Problem problem) {
    BaseServerResponseException refusal =
        new UnclassifiedServerFailureException(status, problem.getMessage(), Outcomes.of(problem));
    problem
        .retryAfterSeconds()
        .ifPresent(seconds -> refusal.addResponseHeader("Retry-After", Integer.toString(seconds)));
    return refusal;
  }
}
