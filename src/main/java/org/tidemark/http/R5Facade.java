package org.tidemark.http;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.parser.IParser;
import jakarta.servlet.ServletException;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Set;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r5.model.Bundle;
import org.hl7.fhir.r5.model.CapabilityStatement;
import org.hl7.fhir.r5.model.CapabilityStatement.CapabilityStatementRestResourceComponent;
import org.hl7.fhir.r5.model.CapabilityStatement.TypeRestfulInteraction;
import org.hl7.fhir.r5.model.Enumerations.FHIRVersion;
import org.tidemark.fhir.InR5;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;

/**
 * A plan and its parts in FHIR R5, to be read: {@code /fhir/r5}. Each request is put to the R4
 * endpoint, which judges it as any other, and its answer is converted.
 */
final class R5Facade {
  private static final String PREFIX = "/r5";

  /** What can be asked for: the statement, a type, a record, a version, a history. */
  private static final Pattern PLACE =
      Pattern.compile(
          "/metadata|/(?:"
              + String.join("|", InR5.TYPES)
              + ")(?:/_history|/[A-Za-z0-9.-]{1,64}(?:/_history(?:/[0-9]+)?)?)?");

  private static final Set<TypeRestfulInteraction> INTERACTIONS =
      Set.of(
          TypeRestfulInteraction.READ,
          TypeRestfulInteraction.VREAD,
          TypeRestfulInteraction.SEARCHTYPE,
          TypeRestfulInteraction.HISTORYINSTANCE,
          TypeRestfulInteraction.HISTORYTYPE);

  private final FhirContext r4;
  private final String base;

  R5Facade(FhirContext r4, String base) {
    this.r4 = r4;
    this.base = base;
  }

  /** The endpoint that answers in R4. */
  interface Endpoint {
    void serve(HttpServletRequest request, HttpServletResponse response)
        throws IOException, ServletException;
  }

  /** Whether a path below {@code /fhir} is one of the facade. */
  static boolean isPlace(String path) {
    return path != null && (path.equals(PREFIX) || path.startsWith(PREFIX + "/"));
  }

  /** A path below {@code /fhir}, without the facade's own part. */
  static String inR4(String path) {
    return isPlace(path) ? path.substring(PREFIX.length()) : path;
  }

  void serve(HttpServletRequest request, HttpServletResponse response, Endpoint endpoint)
      throws IOException, ServletException {
    boolean reads = List.of("GET", "HEAD").contains(request.getMethod());
    String place = inR4(request.getPathInfo());
    if (!reads || !PLACE.matcher(place).matches()) {
      Problem refused =
          Problem.of(
              reads ? Problem.Kind.NOT_FOUND : Problem.Kind.NOT_ALLOWED,
              "The R5 facade is for reading " + String.join(", ", InR5.TYPES) + ".");
      response.setStatus(refused.status());
      response.setHeader(RequestIds.HEADER, RequestIds.of(request));
      send(request, response, InR5.of((Resource) Outcomes.of(refused)));
      return;
    }
    KeptResponse kept = new KeptResponse(response);
    endpoint.serve(new R5Request(request), kept);
    String text = kept.text();
    if (!text.isEmpty()) {
      send(request, response, own(told(text, response)));
    }
  }

  private org.hl7.fhir.r5.model.Resource told(String text, HttpServletResponse response) {
    try {
      return InR5.of((Resource) r4.newJsonParser().parseResource(text));
    } catch (Problem unknown) {
      response.setStatus(unknown.status());
      return InR5.of((Resource) Outcomes.of(unknown));
    }
  }

  /** With the addresses of the facade. */
  private org.hl7.fhir.r5.model.Resource own(org.hl7.fhir.r5.model.Resource answer) {
    if (answer instanceof Bundle bundle) {
      bundle.getLink().forEach(link -> link.setUrl(own(link.getUrl())));
      bundle.getEntry().forEach(entry -> entry.setFullUrl(own(entry.getFullUrl())));
    } else if (answer instanceof CapabilityStatement statement) {
      describe(statement);
    }
    return answer;
  }

  private String own(String url) {
    return url != null && url.startsWith(base)
        ? base + PREFIX.substring(1) + "/" + url.substring(base.length())
        : url;
  }

  private void describe(CapabilityStatement statement) {
    statement.setFhirVersion(FHIRVersion._5_0_0);
    statement.getImplementation().setUrl(base + PREFIX.substring(1));
    statement.setPatchFormat(null);
    statement.getRestFirstRep().setInteraction(null).setOperation(null);
    List<CapabilityStatementRestResourceComponent> types =
        statement.getRestFirstRep().getResource();
    types.removeIf(type -> !InR5.TYPES.contains(type.getType()));
    for (CapabilityStatementRestResourceComponent type : types) {
      type.getInteraction().removeIf(can -> !INTERACTIONS.contains(can.getCode()));
      type.setOperation(null).setSupportedProfile(null).setProfile(null);
      type.setConditionalCreateElement(null)
          .setConditionalUpdateElement(null)
          .setConditionalPatchElement(null)
          .setConditionalDeleteElement(null)
          .setUpdateCreateElement(null);
    }
  }

  private static void send(
      HttpServletRequest request,
      HttpServletResponse response,
      org.hl7.fhir.r5.model.Resource answer)
      throws IOException {
    FhirContext r5 = FhirContext.forR5Cached();
    boolean xml = wantsXml(request);
    IParser writer = xml ? r5.newXmlParser() : r5.newJsonParser();
    writer.setPrettyPrint("true".equals(request.getParameter("_pretty")));
    response.setContentType(
        (xml ? "application/fhir+xml" : "application/fhir+json")
            + "; fhirVersion=5.0; charset=UTF-8");
    if (!request.getMethod().equals("HEAD")) {
      byte[] text = writer.encodeResourceToString(answer).getBytes(StandardCharsets.UTF_8);
      response.getOutputStream().write(text);
    }
  }

  /** By {@code _format}, else by which of the two Accept names first. */
  private static boolean wantsXml(HttpServletRequest request) {
    String format = request.getParameter("_format");
    String wanted = format == null ? request.getHeader("Accept") : format;
    return wanted != null
        && Arrays.stream(wanted.toLowerCase(Locale.ROOT).split(","))
            .filter(part -> part.contains("xml") || part.contains("json"))
            .findFirst()
            .filter(part -> part.contains("xml"))
            .isPresent();
  }
}
