package org.tidemark.http;

import ca.uhn.fhir.rest.api.server.RequestDetails;
import java.util.Arrays;
import java.util.Comparator;
import java.util.List;
import java.util.Locale;

/** In which form a paper is wanted. */
enum Wanted {
  PDF,
  PAGE,
  RESOURCE;

  static final String PDF_TYPE = "application/pdf";
  static final String PAGE_TYPE = "text/html";

  /** A form that a client accepts, and how much. */
  private record Range(String type, double share) {}

  /** The form that {@code _format} says, else the one that {@code Accept} likes best. */
  static Wanted by(RequestDetails request) {
    String[] format = request.getParameters().get("_format");
    if (format != null && format.length > 0) {
      return of(format[0]);
    }
    return of(best(request.getHeader("Accept")));
  }

  /** Whether a form is one that only papers have. */
  static boolean isOfPapers(String mediaType) {
    return of(mediaType) != RESOURCE;
  }

  private static Wanted of(String mediaType) {
    return switch (mediaType) {
      case PDF_TYPE, "pdf" -> PDF;
      case PAGE_TYPE, "html" -> PAGE;
      default -> RESOURCE;
    };
  }

  private static String best(String accept) {
    return accept == null
        ? ""
        : Arrays.stream(accept.split(","))
            .map(Wanted::range)
            .filter(range -> range.share() > 0)
            .max(Comparator.comparingDouble(Range::share))
            .map(Range::type)
            .orElse("");
  }

  private static Range range(String text) {
    List<String> parts =
        Arrays.stream(text.split(";")).map(part -> part.strip().toLowerCase(Locale.ROOT)).toList();
    double share =
        parts.stream()
            .filter(part -> part.matches("q=[01](\\.\\d{0,3})?"))
            .mapToDouble(part -> Double.parseDouble(part.substring(2)))
            .findFirst()
            .orElse(1);
    return new Range(parts.get(0), share);
  }
}
