package org.tidemark.http;

import io.quarkus.vertx.http.runtime.CurrentVertxRequest;
import io.vertx.core.net.HostAndPort;
import jakarta.inject.Singleton;
import jakarta.servlet.http.HttpServletRequest;
import java.net.URI;
import java.net.URISyntaxException;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Stream;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.Problem;

/**
 * Refuses what a page of somebody else makes a browser send. A browser says of an unsafe request
 * from where it comes (Fetch Metadata, {@code Sec-Fetch-Site}; {@code Origin}, RFC 6454); other
 * clients say nothing. Where access is open, the service answers only under the names of its own
 * machine, so that no page reaches it by a name that has been pointed here (DNS rebinding).
 */
@Singleton
class Origins {
  private static final Set<String> SAFE = Set.of("GET", "HEAD", "OPTIONS");
  private static final Set<String> FROM_HERE = Set.of("same-origin", "none");

  private final AccessSettings settings;
  private final CurrentVertxRequest current;
  private final Clinics clinics;
  private final boolean portals;

  /**
   * The settings.
   *
   * @param portals whether pages under other addresses may send requests; which ones has been
   *     judged before by {@code quarkus.http.cors.origins}
   */
  Origins(
      AccessSettings settings,
      CurrentVertxRequest current,
      Clinics clinics,
      @ConfigProperty(name = "quarkus.http.cors.enabled") boolean portals) {
    this.settings = settings;
    this.current = current;
    this.clinics = clinics;
    this.portals = portals;
  }

  /** Refuses a request that comes from a page that is not ours. */
  void require(HttpServletRequest request) {
    HostAndPort named = current.getCurrent().request().authority();
    String host = named == null ? "" : named.toString();
    if (!settings.smart() && bases().noneMatch(base -> isOwnName(host, base))) {
      throw Problem.of(
          Problem.Kind.FORBIDDEN,
          "Where access is open, the service answers as localhost only, or as its base URL says.");
    }
    boolean sentByOurs =
        isSentByOurs(
            request.getMethod(),
            request.getHeader("Sec-Fetch-Site"),
            request.getHeader("Origin"),
            host);
    if (!sentByOurs) {
      throw Problem.of(
          Problem.Kind.FORBIDDEN, "A page under another address may not send this request.");
    }
  }

  private Stream<String> bases() {
    return clinics.all().stream().map(AccessSettings::audience);
  }

  /** Whether a host, which may have a port, is a name of this machine or that of the base. */
  static boolean isOwnName(String host, String base) {
    try {
      String name = new URI("http://" + host).getHost();
      return name != null
          && (AccessSettings.isLoopback(name.replaceAll("[\\[\\]]", ""))
              || name.equalsIgnoreCase(URI.create(base).getHost()));
    } catch (URISyntaxException noHost) {
      return false;
    }
  }

  /** Whether no browser has sent a request for a page that is not ours. */
  boolean isSentByOurs(String method, String site, String origin, String host) {
    if (SAFE.contains(method)) {
      return true;
    }
    if (origin != null && (portals || isOwn(origin, host))) {
      return true;
    }
    return site == null ? origin == null : FROM_HERE.contains(site.toLowerCase(Locale.ROOT));
  }

  private boolean isOwn(String origin, String host) {
    try {
      URI from = new URI(origin);
      String authority = Optional.ofNullable(from.getAuthority()).orElse("");
      return authority.equalsIgnoreCase(host)
          || bases()
              .map(URI::create)
              .anyMatch(
                  base ->
                      authority.equalsIgnoreCase(base.getAuthority())
                          && base.getScheme().equalsIgnoreCase(from.getScheme()));
    } catch (URISyntaxException noOrigin) {
      return false;
    }
  }
}
