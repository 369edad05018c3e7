package org.tidemark.http;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.URI;
import java.net.URLEncoder;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpRequest.BodyPublishers;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.nio.charset.StandardCharsets;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.stream.Collectors;

/**
 * A browser as far as signing in needs one: it keeps the cookies of each host, and goes where it is
 * led one step after the other. A proxy that ends TLS is thought to be on its way.
 */
final class Browser {
  static final String HERE = "http://localhost:" + PlanPerson.PORT;
  static final String NORTH = "http://127.0.0.1:8081";

  private static final ObjectMapper JSON = new ObjectMapper();
  private static final HttpClient CLIENT =
      HttpClient.newBuilder()
          .version(HttpClient.Version.HTTP_1_1)
          .followRedirects(HttpClient.Redirect.NEVER)
          .build();

  final Map<String, Map<String, String>> cookies = new LinkedHashMap<>();
  private final String language;

  Browser() {
    this("en");
  }

  Browser(String language) {
    this.language = language;
  }

  /** What came back. */
  record Got(HttpResponse<String> whole) {
    int status() {
      return whole.statusCode();
    }

    String body() {
      return whole.body();
    }

    String header(String name) {
      return whole.headers().firstValue(name).orElse("");
    }

    String location() {
      return header("Location");
    }

    List<String> cookies() {
      return whole.headers().allValues("Set-Cookie");
    }
  }

  Got get(String url, String... headers) {
    return send("GET", url, null, headers);
  }

  Got send(String method, String url, String body, String... headers) {
    URI at = URI.create(url.startsWith("/") ? HERE + url : url);
    HttpRequest.Builder request =
        HttpRequest.newBuilder(URI.create(at.toString().replaceFirst("^https://127", "http://127")))
            .method(method, body == null ? BodyPublishers.noBody() : BodyPublishers.ofString(body))
            .header("Accept", "text/html,application/xhtml+xml,*/*;q=0.8")
            .header("Accept-Language", language);
    Map<String, String> kept = cookies.computeIfAbsent(at.getHost(), host -> new LinkedHashMap<>());
    if (!kept.isEmpty()) {
      request.header(
          "Cookie",
          kept.entrySet().stream()
              .map(cookie -> cookie.getKey() + "=" + cookie.getValue())
              .collect(Collectors.joining("; ")));
    }
    if (headers.length > 0) {
      for (int i = 0; i < headers.length; i += 2) {
        request.setHeader(headers[i], headers[i + 1]);
      }
    }
    try {
      Got got = new Got(CLIENT.send(request.build(), BodyHandlers.ofString()));
      got.cookies().forEach(cookie -> keep(kept, cookie));
      return got;
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    } catch (InterruptedException e) {
      throw new IllegalStateException(e);
    }
  }

  private static void keep(Map<String, String> kept, String cookie) {
    String[] pair = cookie.split(";", 2)[0].split("=", 2);
    if (cookie.contains("Max-Age=0")) {
      kept.remove(pair[0]);
    } else {
      kept.put(pair[0], pair[1]);
    }
  }

  /** Asks for a page of which the issuer must be asked first; gives where the browser is led. */
  String begin(String page) {
    Got got = get(page);
    if (got.status() != 302) {
      throw new AssertionError(page + ": " + got.status() + got.body());
    }
    return got.location();
  }

  /** Goes to the issuer and gives where that leads back to. */
  String atIssuer(String where, String as) {
    Got got = get(where + "&as=" + URLEncoder.encode(as, StandardCharsets.UTF_8));
    if (got.status() != 302) {
      throw new AssertionError("issuer: " + got.status() + got.body());
    }
    return got.location();
  }

  /** Signs in on the way to a page; gives the answer to coming back from the issuer. */
  Got signIn(String page, String as) {
    return get(atIssuer(begin(page), as));
  }

  /** The secret of the session; empty when there is none. */
  String session(String host, String name) {
    return cookies.getOrDefault(host, Map.of()).getOrDefault(name, "");
  }

  /** How often the issuer was asked for something. */
  static int count(String what) {
    try {
      JsonNode counts = JSON.readTree(new Browser().get(SignInProfile.issuer() + "/counts").body());
      return counts.path(what).asInt();
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }
}
