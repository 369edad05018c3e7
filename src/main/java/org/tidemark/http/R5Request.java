package org.tidemark.http;

import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletRequestWrapper;
import java.util.Arrays;
import java.util.Collections;
import java.util.Enumeration;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Objects;
import java.util.Set;
import java.util.TreeMap;
import java.util.stream.Collectors;

/** A request to the R5 facade as the same request to the endpoint, for plain JSON. */
final class R5Request extends HttpServletRequestWrapper {
  private static final String JSON = "application/fhir+json";

  /** Parameters that are about how the answer is written. */
  private static final Set<String> OF_THE_FORM = Set.of("_format", "_pretty");

  private static final Set<String> FORM_HEADERS = Set.of("accept", "accept-encoding");

  R5Request(HttpServletRequest request) {
    super(request);
  }

  @Override
  public String getPathInfo() {
    return R5Facade.inR4(super.getPathInfo());
  }

  @Override
  public String getRequestURI() {
    return getContextPath() + getServletPath() + getPathInfo();
  }

  @Override
  public StringBuffer getRequestURL() {
    StringBuffer url = super.getRequestURL();
    int path = url.indexOf("/", url.indexOf("://") + 3);
    return new StringBuffer(url.substring(0, path)).append(getRequestURI());
  }

  @Override
  public String getQueryString() {
    String query = super.getQueryString();
    return query == null
        ? null
        : Arrays.stream(query.split("&"))
            .filter(part -> !OF_THE_FORM.contains(part.split("=", 2)[0]))
            .collect(Collectors.joining("&"));
  }

  @Override
  public Map<String, String[]> getParameterMap() {
    Map<String, String[]> all = new TreeMap<>(super.getParameterMap());
    all.keySet().removeAll(OF_THE_FORM);
    return all;
  }

  @Override
  public String getParameter(String name) {
    return OF_THE_FORM.contains(name) ? null : super.getParameter(name);
  }

  @Override
  public String[] getParameterValues(String name) {
    return OF_THE_FORM.contains(name) ? null : super.getParameterValues(name);
  }

  @Override
  public Enumeration<String> getParameterNames() {
    return Collections.enumeration(getParameterMap().keySet());
  }

  @Override
  public String getHeader(String name) {
    return isOfTheForm(name) ? form(name) : super.getHeader(name);
  }

  @Override
  public Enumeration<String> getHeaders(String name) {
    return isOfTheForm(name)
        ? Collections.enumeration(form(name) == null ? List.of() : List.of(form(name)))
        : super.getHeaders(name);
  }

  private static boolean isOfTheForm(String header) {
    return FORM_HEADERS.contains(header.toLowerCase(Locale.ROOT));
  }

  private static String form(String header) {
    return Objects.equals(header.toLowerCase(Locale.ROOT), "accept") ? JSON : null;
  }
}
