package org.tidemark.http;

import com.sun.net.httpserver.HttpExchange;
import com.sun.net.httpserver.HttpServer;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.InetSocketAddress;
import java.nio.charset.StandardCharsets;
import java.util.List;
import java.util.concurrent.CopyOnWriteArrayList;
import java.util.concurrent.Executors;
import java.util.function.IntSupplier;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;

/** An endpoint of a subscription: takes notifications and answers as it is told. */
final class Receiver implements AutoCloseable {
  private final HttpServer server;
  private final List<Got> got = new CopyOnWriteArrayList<>();
  private volatile IntSupplier answer = () -> 200;

  /** A request that came. */
  record Got(String method, String path, String token, String body) {
    Bundle bundle() {
      return PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, body);
    }

    Parameters status() {
      return (Parameters) bundle().getEntryFirstRep().getResource();
    }

    String type() {
      return value(status(), "type");
    }

    List<String> numbers() {
      return events(status()).stream().map(e -> part(e, "event-number")).toList();
    }
  }

  Receiver() {
    try {
      server = HttpServer.create(new InetSocketAddress("127.0.0.1", 0), 0);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
    server.createContext("/", this::take);
    server.setExecutor(Executors.newCachedThreadPool());
    server.start();
  }

  private void take(HttpExchange exchange) throws IOException {
    String body = new String(exchange.getRequestBody().readAllBytes(), StandardCharsets.UTF_8);
    int status = answer.getAsInt();
    got.add(
        new Got(
            exchange.getRequestMethod(),
            exchange.getRequestURI().getPath(),
            exchange.getRequestHeaders().getFirst("X-Token"),
            body));
    exchange.sendResponseHeaders(status, -1);
    exchange.close();
  }

  String address() {
    return "http://127.0.0.1:" + server.getAddress().getPort() + "/hook";
  }

  void answers(IntSupplier status) {
    answer = status;
  }

  List<Got> got() {
    return got;
  }

  Got last() {
    return got.get(got.size() - 1);
  }

  /** The numbers of all events that came and were taken or not, in the order of their coming. */
  List<String> numbers() {
    return got.stream().flatMap(one -> one.numbers().stream()).toList();
  }

  static String value(Parameters status, String name) {
    return status.getParameter().stream()
        .filter(p -> p.getName().equals(name))
        .map(p -> p.getValue().primitiveValue())
        .findFirst()
        .orElse("");
  }

  static List<ParametersParameterComponent> events(Parameters status) {
    return status.getParameter().stream()
        .filter(p -> p.getName().equals("notification-event"))
        .toList();
  }

  static String part(ParametersParameterComponent event, String name) {
    return event.getPart().stream()
        .filter(p -> p.getName().equals(name))
        .map(
            p ->
                p.getValue() instanceof org.hl7.fhir.r4.model.Reference reference
                    ? reference.getReference()
                    : p.getValue().primitiveValue())
        .findFirst()
        .orElse("");
  }

  @Override
  public void close() {
    server.stop(0);
  }
}
