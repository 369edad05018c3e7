package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.annotation.OperationParam;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Locale;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.IdType;
import org.tidemark.application.Languages;
import org.tidemark.application.Papers;
import org.tidemark.application.Papers.Kind;
import org.tidemark.application.Papers.Size;
import org.tidemark.fhir.Problem;

/**
 * The operations that write a paper about a plan as it stands: as a PDF or a page where the client
 * accepts one best, else as a Binary with the PDF.
 */
@ApplicationScoped
public class PaperOperations implements Operations {
  private final Papers papers;
  private final Languages languages;

  PaperOperations(Papers papers, Languages languages) {
    this.papers = papers;
    this.languages = languages;
  }

  /** {@code CarePlan/[id]/$handout}: what the person is handed. */
  @Operation(name = "$handout", type = CarePlan.class, idempotent = true)
  public Binary handout(
      @IdParam IdType id,
      @OperationParam(name = "paper") CodeType paper,
      @OperationParam(name = "language") CodeType language,
      RequestDetails request) {
    return write(Kind.HANDOUT, id, paper, language, request);
  }

  /** {@code CarePlan/[id]/$progress-report}: one page for a referrer. */
  @Operation(name = "$progress-report", type = CarePlan.class, idempotent = true)
  public Binary progressReport(
      @IdParam IdType id,
      @OperationParam(name = "paper") CodeType paper,
      @OperationParam(name = "language") CodeType language,
      RequestDetails request) {
    return write(Kind.PROGRESS_REPORT, id, paper, language, request);
  }

  private Binary write(
      Kind kind, IdType id, CodeType paper, CodeType language, RequestDetails request) {
    Locale locale = locale(language, request);
    Size size = size(paper);
    if (Wanted.by(request) == Wanted.PAGE) {
      return PaperAnswers.page(request, papers.page(kind, id.getIdPart(), locale, size));
    }
    Binary binary = new Binary();
    binary.setContentType(Wanted.PDF_TYPE);
    binary.setData(papers.pdf(kind, id.getIdPart(), locale, size));
    return binary;
  }

  private static Size size(CodeType paper) {
    if (paper == null || !paper.hasValue()) {
      return Size.A4;
    }
    return Size.find(paper.getValue())
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.BAD_REQUEST,
                    "The paper is A4 or letter, not '" + paper.getValue() + "'.",
                    "Parameters.parameter.where(name='paper')"));
  }

  private Locale locale(CodeType language, RequestDetails request) {
    return languages.firstOf(
        language != null && language.hasValue()
            ? List.of(Locale.forLanguageTag(language.getValue()))
            : AskedLanguages.of(request.getHeader(AskedLanguages.HEADER)));
  }
}
