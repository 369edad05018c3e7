package org.tidemark.http;

import ca.uhn.fhir.rest.api.server.RequestDetails;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;

/** The parameters of a request, and the text that they have in an address. */
final class QueryText {
  private QueryText() {}

  /** The parameters with their values, in their order, as a map that may be changed. */
  static Map<String, List<String>> given(RequestDetails request) {
    Map<String, List<String>> given = new LinkedHashMap<>();
    request
        .getParameters()
        .forEach((name, values) -> given.put(name, new ArrayList<>(List.of(values))));
    return given;
  }

  /** An address with parameters. */
  static String url(String path, Map<String, List<String>> parameters) {
    StringBuilder url = new StringBuilder(path);
    parameters.forEach(
        (name, values) ->
            values.forEach(
                value ->
                    url.append(url.indexOf("?") < 0 ? '?' : '&')
                        .append(encoded(name))
                        .append('=')
                        .append(encoded(value))));
    return url.toString();
  }

  private static String encoded(String text) {
    return URLEncoder.encode(text, StandardCharsets.UTF_8);
  }
}
