package org.tidemark.audit;

import java.util.Arrays;
import java.util.List;
import java.util.regex.Pattern;

/**
 * What a request asks for, as far as its address tells.
 *
 * @param interaction the kind of thing
 * @param entity the record that is named, as {@code Type/id}, or empty
 * @param entityVersion the version that is named, or 0
 * @param line method, address and query, as they were sent
 */
public record Call(Interaction interaction, String entity, long entityVersion, String line) {
  private static final Pattern TYPE = Pattern.compile("[A-Z][A-Za-z]{1,60}");
  private static final Pattern ID = Pattern.compile("[A-Za-z0-9\\-.]{1,64}");
  private static final Pattern VERSION = Pattern.compile("[0-9]{1,18}");
  private static final String HISTORY = "_history";

  /**
   * Reads a request to the FHIR endpoint.
   *
   * @param method its method
   * @param path its path below the base of the endpoint, with or without a slash at either end
   * @param line the request as it was sent
   */
  public static Call fhir(String method, String path, String line) {
    List<String> parts = Arrays.stream(path.split("/")).filter(part -> !part.isEmpty()).toList();
    boolean record = parts.size() > 1 && TYPE.matcher(parts.get(0)).matches();
    String entity =
        record && ID.matcher(parts.get(1)).matches() ? parts.get(0) + "/" + parts.get(1) : "";
    Interaction interaction = interaction(method, parts);
    boolean versioned = interaction == Interaction.VREAD && VERSION.matcher(parts.get(3)).matches();
    return new Call(interaction, entity, versioned ? Long.parseLong(parts.get(3)) : 0, line);
  }

  /** Whether it searches by what a form holds. */
  boolean isForm() {
    return interaction == Interaction.SEARCH && line.startsWith("POST ");
  }

  /** Any other request. */
  public static Call page(String line) {
    return new Call(Interaction.PAGE, "", 0, line);
  }

  private static Interaction interaction(String method, List<String> parts) {
    String last = parts.isEmpty() ? "" : parts.get(parts.size() - 1);
    if (last.startsWith("$")) {
      return Interaction.OPERATION;
    }
    boolean gets = method.equals("GET") || method.equals("HEAD");
    return switch (parts.size()) {
      case 0 -> gets ? Interaction.SEARCH : Interaction.BUNDLE;
      case 1 -> last.equals(HISTORY) ? Interaction.HISTORY_SYSTEM : ofType(method, gets);
      case 2 ->
          switch (last) {
            case "_search" -> Interaction.SEARCH;
            case HISTORY -> Interaction.HISTORY_TYPE;
            default -> gets ? Interaction.READ : changing(method);
          };
      case 3 -> last.equals(HISTORY) ? Interaction.HISTORY_INSTANCE : Interaction.OPERATION;
      default ->
          parts.size() == 4 && gets && parts.get(2).equals(HISTORY)
              ? Interaction.VREAD
              : Interaction.OPERATION;
    };
  }

  private static Interaction ofType(String method, boolean gets) {
    if (gets) {
      return Interaction.SEARCH;
    }
    return method.equals("POST") ? Interaction.CREATE : changing(method);
  }

  private static Interaction changing(String method) {
    return switch (method) {
      case "PUT" -> Interaction.UPDATE;
      case "PATCH" -> Interaction.PATCH;
      case "DELETE" -> Interaction.DELETE;
      default -> Interaction.OPERATION;
    };
  }
}
