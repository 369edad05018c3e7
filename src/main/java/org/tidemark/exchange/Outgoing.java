package org.tidemark.exchange;

import io.quarkus.tls.CertificateUpdatedEvent;
import io.quarkus.tls.runtime.config.TlsConfigUtils;
import io.vertx.core.Future;
import io.vertx.core.Promise;
import io.vertx.core.Vertx;
import io.vertx.core.buffer.Buffer;
import io.vertx.core.http.HttpClient;
import io.vertx.core.http.HttpClientOptions;
import io.vertx.core.http.HttpClientRequest;
import io.vertx.core.http.HttpClientResponse;
import io.vertx.core.http.HttpMethod;
import io.vertx.core.http.RequestOptions;
import io.vertx.core.net.SocketAddress;
import jakarta.annotation.PreDestroy;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.io.IOException;
import java.io.InputStream;
import java.io.InterruptedIOException;
import java.net.ConnectException;
import java.net.InetAddress;
import java.net.SocketTimeoutException;
import java.net.URI;
import java.net.UnknownHostException;
import java.time.Duration;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.CompletableFuture;
import java.util.concurrent.ExecutionException;
import java.util.concurrent.TimeUnit;
import java.util.concurrent.TimeoutException;
import java.util.function.Function;
import java.util.stream.Collectors;

/**
 * Sends requests to other systems. A connection goes to an address that was judged before, whatever
 * the name says by then; redirections are not followed, and no answer is read beyond a limit. Each
 * request has a connection of its own, so that none is lost with one that the other side has
 * closed. To the hosts of a setting it connects by its own TLS.
 */
@ApplicationScoped
public class Outgoing {
  private static final int CONNECT_MS = 5_000;
  private static final int HTTP = 80;
  private static final int HTTPS = 443;

  /** The longest answer, in bytes. */
  private static final int MOST_READ = 1 << 20;

  private final HttpClient client;
  private final Optional<HttpClient> named;
  private final OutgoingTls tls;

  Outgoing(Vertx vertx, OutgoingTls tls) {
    this.tls = tls;
    this.client = vertx.createHttpClient(options());
    this.named =
        tls.find()
            .map(
                how -> {
                  HttpClientOptions options = options();
                  TlsConfigUtils.configure(options, how);
                  return vertx.createHttpClient(options);
                });
  }

  private static HttpClientOptions options() {
    return new HttpClientOptions().setConnectTimeout(CONNECT_MS).setKeepAlive(false);
  }

  /** Takes a certificate that was renewed, from the next connection on. */
  void renew(@Observes CertificateUpdatedEvent renewed) {
    if (renewed.name().equals(OutgoingTls.NAME)) {
      named.ifPresent(known -> known.updateSSLOptions(renewed.tlsConfiguration().getSSLOptions()));
    }
  }

  @PreDestroy
  void stop() {
    client.close();
    named.ifPresent(HttpClient::close);
  }

  /**
   * What is sent.
   *
   * @param at where to; by http or https
   * @param addresses where its host lies, as was judged
   * @param headers names and values
   * @param patience for the whole exchange
   */
  public record Sent(
      String method,
      URI at,
      List<InetAddress> addresses,
      Map<String, String> headers,
      Optional<String> body,
      Duration patience) {}

  /** What came back; the names of headers are in small letters. */
  public record Answer(int status, Map<String, String> headers, String body) {}

  /**
   * Sends a request.
   *
   * @throws SocketTimeoutException when the answer does not come in time
   * @throws IOException when there is no whole answer
   * @throws IllegalArgumentException when a header cannot be sent
   */
  public Answer send(Sent sent) throws IOException {
    return send(sent, Outgoing::read);
  }

  /**
   * Sends a request whose answer may be long, and gives its body as it comes.
   *
   * @param sent the request; its patience is for the beginning of the answer, and then for each
   *     part of its body
   * @throws SocketTimeoutException when the answer does not begin in time
   * @throws IOException when there is none
   */
  public Opened open(Sent sent) throws IOException {
    return send(
        sent,
        response ->
            Future.succeededFuture(
                new Opened(response.statusCode(), new AnswerBody(response, sent.patience()))));
  }

  /**
   * An answer that is read as it comes.
   *
   * @param status its status
   * @param body its body, to be closed by whoever reads it
   */
  public record Opened(int status, InputStream body) {}

  private <T> T send(Sent sent, Function<HttpClientResponse, Future<T>> reading)
      throws IOException {
    if (sent.addresses().isEmpty()) {
      throw new UnknownHostException(sent.at().getHost());
    }
    CompletableFuture<HttpClientRequest> asked =
        client(sent.at()).request(options(sent)).toCompletionStage().toCompletableFuture();
    CompletableFuture<T> answer =
        asked.thenCompose(
            request -> {
              sent.headers().forEach(request::putHeader);
              return request
                  .send(Buffer.buffer(sent.body().orElse("")))
                  .compose(reading)
                  .toCompletionStage();
            });
    try {
      return answer.get(sent.patience().toMillis(), TimeUnit.MILLISECONDS);
    } catch (TimeoutException late) {
      asked.thenAccept(HttpClientRequest::reset);
      throw new SocketTimeoutException("no answer in time");
    } catch (InterruptedException stopping) {
      asked.thenAccept(HttpClientRequest::reset);
      Thread.currentThread().interrupt();
      throw new InterruptedIOException();
    } catch (ExecutionException failed) {
      if (failed.getCause() instanceof IllegalArgumentException wrong) {
        throw wrong;
      }
      throw (IOException) new ConnectException().initCause(failed.getCause());
    }
  }

  private HttpClient client(URI at) {
    return named.filter(known -> tls.isFor(at.getHost())).orElse(client);
  }

  private static RequestOptions options(Sent sent) {
    URI at = sent.at();
    boolean secure = "https".equalsIgnoreCase(at.getScheme());
    int port = at.getPort() >= 0 ? at.getPort() : secure ? HTTPS : HTTP;
    String path = Optional.ofNullable(at.getRawPath()).filter(p -> !p.isEmpty()).orElse("/");
    return new RequestOptions()
        .setMethod(HttpMethod.valueOf(sent.method()))
        .setServer(SocketAddress.inetSocketAddress(port, sent.addresses().get(0).getHostAddress()))
        .setHost(at.getHost())
        .setPort(port)
        .setSsl(secure)
        .setURI(at.getRawQuery() == null ? path : path + "?" + at.getRawQuery())
        .setFollowRedirects(false);
  }

  private static Future<Answer> read(HttpClientResponse response) {
    Promise<Answer> whole = Promise.promise();
    Buffer body = Buffer.buffer();
    response.exceptionHandler(whole::tryFail);
    response.handler(
        part -> {
          if (body.length() + part.length() > MOST_READ) {
            response.request().reset();
            whole.tryFail(new IOException("the answer is too long"));
          } else {
            body.appendBuffer(part);
          }
        });
    response.endHandler(
        end ->
            whole.tryComplete(
                new Answer(
                    response.statusCode(),
                    response.headers().entries().stream()
                        .collect(
                            Collectors.toMap(
                                header -> header.getKey().toLowerCase(Locale.ROOT),
                                Map.Entry::getValue,
                                (first, second) -> first)),
                    body.toString())));
    return whole.future();
  }
}
