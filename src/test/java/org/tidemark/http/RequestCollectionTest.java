package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.Response;
import io.restassured.specification.RequestSpecification;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.List;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.junit.jupiter.api.Test;

/** Sends the collection of requests and holds each to the status that it says. */
@QuarkusTest
class RequestCollectionTest {
  private static final Pattern ANSWERS = Pattern.compile("(?m)^# answers (\\d{3})$");
  private static final Pattern REQUEST =
      Pattern.compile("(?m)^(GET|POST|PUT|PATCH) \\{\\{base}}(\\S*)$");
  private static final Pattern HEADER = Pattern.compile("(?m)^([A-Z][\\w-]+): (.*)$");

  @Test
  void eachRequestIsAnsweredAsItSays() throws IOException {
    String all = Files.readString(Path.of("demo-bundles/walk/requests.http"));
    List<String> requests = Arrays.stream(all.split("(?m)^### ")).skip(1).toList();
    assertTrue(requests.size() > 10);
    for (String request : requests) {
      Response answer = send(request);
      assertEquals(
          Integer.parseInt(first(ANSWERS, request).group(1)),
          answer.statusCode(),
          () -> request + answer.asString());
    }
  }

  private static Response send(String request) {
    Matcher line = first(REQUEST, request);
    String rest = request.substring(line.end());
    int blank = rest.indexOf("\n\n");
    String head = blank < 0 ? rest : rest.substring(0, blank);
    String body = blank < 0 ? "" : rest.substring(blank).strip();
    RequestSpecification sent = given().urlEncodingEnabled(false);
    HEADER.matcher(head).results().forEach(header -> sent.header(header.group(1), header.group(2)));
    if (!body.isEmpty()) {
      sent.body(body);
    }
    return sent.request(line.group(1), "/fhir" + line.group(2));
  }

  private static Matcher first(Pattern pattern, String text) {
    Matcher matcher = pattern.matcher(text);
    assertTrue(matcher.find(), () -> "no " + pattern + " in " + text);
    return matcher;
  }
}
