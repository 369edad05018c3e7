package org.tidemark.programme;

/**
 * Which programme, in which version.
 *
 * @param url the canonical address of the definition
 * @param version its version
 */
public record ProgrammeId(String url, String version) {
  /** Address and version in one, {@code url|version}. */
  public String canonical() {
    return url + "|" + version;
  }
}
