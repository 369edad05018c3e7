package org.tidemark.http;

import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.regex.Pattern;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.tidemark.application.Types;

/**
 * What figures and traces call the place that a request is for: its path, with a gap for each part
 * that clients choose. There are only so many of them, and none tells of a person.
 */
final class RequestPlace {
  /** What is none of ours. */
  static final String OTHER = "other";

  private static final String ID = "{id}";

  private static final Set<String> TYPES =
      Stream.concat(Types.served(), Stream.of(Types.AUDIT)).collect(Collectors.toSet());

  private static final Set<String> OPERATIONS =
      Set.of(
          "$apply",
          "$close-handover",
          "$events",
          "$everything",
          "$export",
          "$extract",
          "$handout",
          "$handover",
          "$import",
          "$import-cancel",
          "$import-status",
          "$next-prescription",
          "$outcomes",
          "$progress-report",
          "$pull-status",
          "$write-back",
          "$write-back-status",
          "$receive-handover",
          "$receive-records",
          "$resend",
          "$status",
          "$summary",
          "$undelivered",
          "$validate");

  private static final Set<String> FILES =
      Set.of("metadata", "openapi.json", "openapi.yaml", SmartConfiguration.PATH);

  private static final Set<String> METHODS =
      Set.of("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS");

  private static final Pattern PAGES =
      Pattern.compile(
          "/|/guide|/signin/(callback|again|out|left)|/auth/(token|jwks)|/cds-services"
              + "|/\\.well-known/jwks\\.json");

  private RequestPlace() {}

  /** The method, unless it is none that is used here. */
  static String method(String sent) {
    return METHODS.contains(sent) ? sent : OTHER;
  }

  /**
   * The place.
   *
   * @param path the path of the request, without its query
   */
  static String of(String path) {
    if (path.equals("/fhir") || path.startsWith("/fhir/")) {
      String below = path.substring("/fhir".length());
      boolean r5 = R5Facade.isPlace(below);
      return fhir(R5Facade.inR4(below))
          .map(place -> (r5 ? "/fhir/r5" : "/fhir") + place)
          .orElse(OTHER);
    }
    if (PAGES.matcher(path).matches()) {
      return path;
    }
    for (String parent : List.of("/assets/", "/plan/")) {
      if (path.startsWith(parent)) {
        return parent + ID;
      }
    }
    if (path.startsWith("/cds-services/")) {
      return "/cds-services/" + ID + (path.endsWith("/feedback") ? "/feedback" : "");
    }
    return OTHER;
  }

  /** Below the base: [type], [id] and what R4 has after them. */
  private static Optional<String> fhir(String below) {
    if (below.isEmpty() || below.equals("/")) {
      return Optional.of("");
    }
    if (FILES.contains(below.substring(1))) {
      return Optional.of(below);
    }
    if (below.startsWith("/" + ExportServlet.UNDER_BASE + "/")) {
      return Optional.of("/" + ExportServlet.UNDER_BASE + "/" + ID);
    }
    List<String> said = new ArrayList<>();
    String before = "";
    for (String part : below.substring(1).split("/", -1)) {
      String name = name(part, before, said.size());
      if (name.isEmpty()) {
        return Optional.empty();
      }
      said.add(name);
      before = name;
    }
    return Optional.of("/" + String.join("/", said));
  }

  /** What a part of a path is called after the one before it; empty for what has no place there. */
  private static String name(String part, String before, int depth) {
    boolean afterOperation = before.startsWith("$") || before.equals("_search");
    if (afterOperation || part.isEmpty()) {
      return "";
    }
    if (OPERATIONS.contains(part)) {
      return part;
    }
    return switch (depth) {
      case 0 -> TYPES.contains(part) || part.equals("_history") ? part : "";
      case 1 ->
          part.equals("_search") || part.equals("_history")
              ? part
              : part.startsWith("$") || before.equals("_history") ? "" : ID;
      case 2 -> part.equals("_history") && before.equals(ID) ? part : "";
      case 3 -> before.equals("_history") && !part.startsWith("$") ? "{version}" : "";
      default -> "";
    };
  }
}
