package org.tidemark.fhir;

import java.util.OptionalLong;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/** Versions as HTTP writes them: {@code W/"3"}. */
public final class EntityTags {
  private static final Pattern FORM = Pattern.compile("(?:W/)?\"?(\\d{1,18})\"?");

  private EntityTags() {}

  /**
   * A version as an entity tag.
   *
   * @param version 1 or more
   * @return {@code W/"version"}
   */
  public static String of(String version) {
    return "W/\"" + version + "\"";
  }

  /**
   * The version that an {@code If-Match} asks for.
   *
   * @param tag {@code W/"3"} or {@code "3"}; null or empty when there is none
   * @return the version, or empty when there is no tag
   * @throws Problem (412) when it is no version that this server can have given out
   */
  public static OptionalLong version(String tag) {
    if (tag == null || tag.isBlank()) {
      return OptionalLong.empty();
    }
    Matcher form = FORM.matcher(tag.trim());
    if (!form.matches()) {
      throw Problem.of(
          Problem.Kind.VERSION_CONFLICT, "This server gives out versions as W/\"3\", no other.");
    }
    return OptionalLong.of(Long.parseLong(form.group(1)));
  }
}
