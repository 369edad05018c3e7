package org.tidemark.http;

import io.quarkus.runtime.configuration.ConfigurationException;
import jakarta.inject.Singleton;
import java.net.InetAddress;
import java.net.URI;
import java.net.URISyntaxException;
import java.net.UnknownHostException;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.regex.Pattern;
import org.eclipse.microprofile.config.Config;
import org.tidemark.clinic.Clinic;
import org.tidemark.clinic.Clinics;

/**
 * Who is let in. Access is either open, and then only to whom is at the machine itself, or by the
 * access tokens of an authorization server (SMART App Launch 2.2). Settings that would let in more
 * are refused, and the service does not start.
 */
@Singleton
public class AccessSettings {
  private static final String ACCESS = "tidemark.access";
  private static final String SANDBOX = "tidemark.sandbox";
  private static final String ISSUER = "tidemark.smart.issuer";
  private static final String JWKS = "tidemark.smart.jwks";
  private static final String TOKEN_ENDPOINT = "tidemark.smart.token-endpoint";
  private static final String AUTHORIZATION_ENDPOINT = "tidemark.smart.authorization-endpoint";
  private static final String CLINIC_CLAIM = "tidemark.smart.clinic-claim";
  private static final String BASE = "tidemark.base-url";
  private static final String HOST = "quarkus.http.host";

  private static final Pattern SCHEME = Pattern.compile("^[A-Za-z][A-Za-z0-9+.-]+:");

  private final Config config;
  private final boolean smart;
  private final boolean sandbox;
  private final Clinics clinics;

  AccessSettings(Config config, Clinics clinics) {
    this.clinics = clinics;
    this.config = config;
    this.smart = isSmart();
    this.sandbox = config.getOptionalValue(SANDBOX, Boolean.class).orElse(false);
    check();
  }

  private boolean isSmart() {
    String access = find(ACCESS).orElse("open");
    return switch (access) {
      case "open" -> false;
      case "smart" -> true;
      default ->
          throw new ConfigurationException(ACCESS + " is open or smart, not '" + access + "'.");
    };
  }

  private Optional<String> find(String name) {
    return config.getOptionalValue(name, String.class).map(String::strip).filter(v -> !v.isEmpty());
  }

  private void check() {
    if (!smart) {
      requireLoopback("Access is open (" + ACCESS + "=open)", true);
      if (sandbox) {
        throw new ConfigurationException(
            SANDBOX
                + " gives out access tokens, which nobody needs as long as access is open: set "
                + ACCESS
                + "=smart.");
      }
    } else if (sandbox) {
      requireLoopback("The sandbox gives out access tokens (" + SANDBOX + "=true)", false);
      for (String name : List.of(ISSUER, JWKS, TOKEN_ENDPOINT, AUTHORIZATION_ENDPOINT)) {
        if (find(name).isPresent()) {
          throw new ConfigurationException(
              "With "
                  + SANDBOX
                  + "=true the service is its own authorization server; "
                  + name
                  + " must not be set.");
        }
      }
    } else {
      for (String name : List.of(ISSUER, JWKS, TOKEN_ENDPOINT)) {
        find(name).orElseThrow(() -> missing(name));
      }
      requireSafe(find(JWKS).orElseThrow());
    }
    if (smart && clinics.all().size() > 1 && clinicClaim().isEmpty()) {
      throw new ConfigurationException(
          "Several clinics are served (tidemark.clinics), and a token must say for which it is: set "
              + CLINIC_CLAIM
              + " to the name of the claim that does.");
    }
  }

  private static ConfigurationException missing(String name) {
    return new ConfigurationException(
        "With " + ACCESS + "=smart the setting " + name + " is needed.");
  }

  /** What is read without proof of who asks must not be reached from another machine. */
  private void requireLoopback(String why, boolean behindNothing) {
    String host = find(HOST).orElse("0.0.0.0");
    if (!isLoopback(host)) {
      throw new ConfigurationException(
          why
              + " and the service would listen on "
              + host
              + ", where other machines reach it. Set "
              + ACCESS
              + "=smart with the settings of an authorization server, or "
              + HOST
              + "=127.0.0.1.");
    }
    if (behindNothing) {
      clinics.all().forEach(clinic -> requireLoopback(why, audience(clinic)));
    }
  }

  private static void requireLoopback(String why, String base) {
    String reached = Optional.ofNullable(URI.create(base).getHost()).orElse("");
    if (!isLoopback(reached)) {
      throw new ConfigurationException(
          why
              + " and the service is reached as "
              + base
              + " ("
              + BASE
              + "), thus from other machines. Set "
              + ACCESS
              + "=smart with the settings of an authorization server.");
    }
  }

  /** An address of the machine itself; other names are not looked up. */
  public static boolean isLoopback(String host) {
    if (host.equalsIgnoreCase("localhost")) {
      return true;
    }
    boolean literal = host.matches("[0-9.]+") || host.contains(":");
    try {
      return literal && InetAddress.getByName(host).isLoopbackAddress();
    } catch (UnknownHostException e) {
      return false;
    }
  }

  /** Keys that came over an open line could be anybody's. */
  private static void requireSafe(String jwks) {
    boolean secure = jwks.toLowerCase(Locale.ROOT).startsWith("https:");
    boolean file = !SCHEME.matcher(jwks).find();
    boolean here = isAddress(jwks) && isLoopback(host(jwks));
    if (!file && (host(jwks).isEmpty() || !secure && !here)) {
      throw new ConfigurationException(JWKS + " must be an https address or a file.");
    }
  }

  private static String host(String address) {
    try {
      return Optional.ofNullable(new URI(address).getHost()).orElse("");
    } catch (URISyntaxException e) {
      return "";
    }
  }

  /** Whether keys are at an address, and no file. */
  static boolean isAddress(String jwks) {
    return jwks.matches("(?i)https?://.*");
  }

  /** Whether each request needs an access token. */
  public boolean smart() {
    return smart;
  }

  /** Whether the service gives out access tokens itself. */
  public boolean sandbox() {
    return sandbox;
  }

  /**
   * The base of a clinic's endpoint, for which its tokens are issued, without a slash at the end.
   */
  public static String audience(Clinic clinic) {
    return clinic.base().replaceAll("/+$", "");
  }

  /** The claim of a token that names its clinic; empty where one clinic is served. */
  public Optional<String> clinicClaim() {
    return find(CLINIC_CLAIM);
  }

  /** Who issues the tokens. */
  public String issuer() {
    return sandbox ? own("") : find(ISSUER).orElseThrow();
  }

  /** Where clients get tokens. */
  public String tokenEndpoint() {
    return sandbox ? own("/token") : find(TOKEN_ENDPOINT).orElseThrow();
  }

  /** Where users let clients in. */
  public Optional<String> authorizationEndpoint() {
    return find(AUTHORIZATION_ENDPOINT);
  }

  /** The keys of the issuer: an address, or a file. */
  public String jwks() {
    return sandbox ? own("/jwks") : find(JWKS).orElseThrow();
  }

  private String own(String path) {
    return URI.create(clinics.home().base()).resolve("/auth" + path).toString();
  }
}
