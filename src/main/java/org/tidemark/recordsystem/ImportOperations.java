package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.annotation.OperationParam;
import ca.uhn.fhir.rest.annotation.ResourceParam;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.ArrayList;
import java.util.Date;
import java.util.List;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.InstantType;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Type;
import org.hl7.fhir.r4.model.UriType;
import org.tidemark.application.Imports;
import org.tidemark.application.Imports.Input;
import org.tidemark.application.Imports.Standing;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.http.AsyncRequests;
import org.tidemark.http.Operations;
import org.tidemark.store.ImportStore.File;
import org.tidemark.store.ImportStore.Refusal;

/** Imports of NDJSON files, as an export of another server lists them. */
@ApplicationScoped
public class ImportOperations implements Operations {
  private static final String SECONDS_TO_WAIT = "2";

  private final Imports imports;
  private final References references;
  private final FhirContext context;

  ImportOperations(Imports imports, References references, FhirContext context) {
    this.imports = imports;
    this.references = references;
    this.context = context;
  }

  /** {@code $import}: begins an import. */
  @Operation(name = "$import", manualResponse = true)
  public void start(
      @ResourceParam Parameters asked, RequestDetails request, HttpServletResponse response)
      throws IOException {
    AsyncRequests.require(request, "An import");
    String format = "";
    String source = "";
    List<Input> inputs = new ArrayList<>();
    for (ParametersParameterComponent parameter : asked.getParameter()) {
      switch (String.valueOf(parameter.getName())) {
        case "inputFormat" -> format = text(parameter);
        case "inputSource" -> source = text(parameter);
        case "input" -> inputs.add(input(parameter));
        default ->
            throw Problem.of(
                Problem.Kind.UNKNOWN_PARAMETER,
                "An import takes inputFormat, inputSource and input.",
                element(parameter.getName()));
      }
    }
    if (source.isEmpty()) {
      throw Problem.of(
          Problem.Kind.MISSING,
          "The server that the records come from is needed.",
          element("inputSource"));
    }
    String place =
        references.base() + "$import-status?job=" + imports.start(format, source, inputs);
    response.setHeader("Content-Location", place);
    write(
        response,
        HttpServletResponse.SC_ACCEPTED,
        Outcomes.information("The import has begun; " + place + " tells how it stands."));
  }

  private static Input input(ParametersParameterComponent parameter) {
    String type = "";
    String url = "";
    for (ParametersParameterComponent part : parameter.getPart()) {
      switch (String.valueOf(part.getName())) {
        case "type" -> type = text(part);
        case "url" -> url = text(part);
        default -> throw wrongInput();
      }
    }
    if (type.isEmpty() || url.isEmpty()) {
      throw wrongInput();
    }
    return new Input(type, url);
  }

  private static Problem wrongInput() {
    return Problem.of(Problem.Kind.BAD_REQUEST, "An input has a type and a url.", element("input"));
  }

  private static String text(ParametersParameterComponent parameter) {
    if (!parameter.hasValue() || !parameter.getValue().isPrimitive()) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "'" + parameter.getName() + "' is given as a plain value.",
          element(parameter.getName()));
    }
    return parameter.getValue().primitiveValue();
  }

  private static String element(String parameter) {
    return "Parameters.parameter.where(name='" + parameter + "')";
  }

  /**
   * {@code $import-status}: how an import stands, with 202 while it goes on and 200 when nothing
   * more is done about it.
   */
  @Operation(name = "$import-status", idempotent = true, manualResponse = true)
  public void status(@OperationParam(name = "job") StringType job, HttpServletResponse response)
      throws IOException {
    Standing standing = imports.standing(required(job));
    boolean done = standing.job().done();
    if (!done) {
      response.setHeader("X-Progress", progress(standing));
      response.setHeader("Retry-After", SECONDS_TO_WAIT);
    }
    write(
        response,
        done ? HttpServletResponse.SC_OK : HttpServletResponse.SC_ACCEPTED,
        told(standing));
  }

  private static String progress(Standing standing) {
    long lines = standing.files().stream().mapToLong(File::line).sum();
    long files = standing.files().stream().filter(File::done).count();
    return "%d of %d files, %d lines".formatted(files, standing.files().size(), lines);
  }

  private Parameters told(Standing standing) {
    Parameters told = new Parameters();
    told.addParameter().setName("source").setValue(new UriType(standing.job().source()));
    told.addParameter().setName("asked").setValue(new InstantType(Date.from(standing.at())));
    if (!standing.job().problem().isEmpty()) {
      told.addParameter().setName("problem").setValue(new StringType(standing.job().problem()));
    }
    standing.files().forEach(file -> tell(file, told));
    standing.refused().forEach(refused -> tell(refused, standing.files(), told));
    return told;
  }

  private static void tell(File file, Parameters told) {
    ParametersParameterComponent input = told.addParameter().setName("input");
    part(input, "type", new CodeType(file.type()));
    part(input, "url", new UriType(file.url()));
    part(input, "done", new BooleanType(file.done()));
    part(input, "lines", count(file.line()));
    part(input, "written", count(file.written()));
    part(input, "known", count(file.known()));
    part(input, "refused", count(file.refused()));
  }

  private static IntegerType count(long count) {
    return new IntegerType(Math.toIntExact(count));
  }

  private static void part(ParametersParameterComponent of, String name, Type value) {
    of.addPart().setName(name).setValue(value);
  }

  private void tell(Refusal refusal, List<File> files, Parameters told) {
    ParametersParameterComponent refused = told.addParameter().setName("refused");
    part(refused, "url", new UriType(files.get(refusal.file() - 1).url()));
    part(refused, "line", count(refusal.line()));
    refused
        .addPart()
        .setName("outcome")
        .setResource(
            context.newJsonParser().parseResource(OperationOutcome.class, refusal.outcome()));
  }

  /** {@code $import-cancel}: ends an import, or forgets one; what it has written stays. */
  @Operation(name = "$import-cancel")
  public OperationOutcome cancel(@OperationParam(name = "job") StringType job) {
    imports.cancel(required(job));
    return Outcomes.information("The import has ended; what it has written stays.");
  }

  private static String required(StringType job) {
    if (job == null || !job.hasValue()) {
      throw Problem.of(Problem.Kind.MISSING, "'job' is needed.", element("job"));
    }
    return job.getValue();
  }

  private void write(HttpServletResponse response, int status, IBaseResource answer)
      throws IOException {
    response.setStatus(status);
    response.setContentType("application/fhir+json;charset=UTF-8");
    response.getWriter().write(context.newJsonParser().encodeResourceToString(answer));
  }
}
