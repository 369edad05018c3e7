package org.tidemark.fhir;

import io.quarkus.qute.Expression;
import io.quarkus.qute.HtmlEscaper;
import io.quarkus.qute.Variant;
import java.util.List;

/**
 * Makes text of every value. A character that XML does not allow shows as U+FFFD; a carriage return
 * is written as a reference, since XML readers take a bare one for a line end.
 */
final class XhtmlEscaper extends HtmlEscaper {
  private static final String REPLACEMENT = "\uFFFD";
  private static final String NOT_IN_XML =
      "[^\\t\\n\\r\\u0020-\\uD7FF\\uE000-\\uFFFD\\x{10000}-\\x{10FFFF}]";

  XhtmlEscaper() {
    super(List.of(Variant.TEXT_HTML));
  }

  @Override
  public String map(Object value, Expression expression) {
    String text = super.map(value, expression).replace("\r", "&#13;");
    return Values.hasForbiddenCharacter(text) ? text.replaceAll(NOT_IN_XML, REPLACEMENT) : text;
  }
}
