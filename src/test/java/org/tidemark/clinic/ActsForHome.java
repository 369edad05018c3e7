package org.tidemark.clinic;

import java.lang.reflect.Method;
import org.junit.jupiter.api.extension.ExtensionContext;
import org.junit.jupiter.api.extension.InvocationInterceptor;
import org.junit.jupiter.api.extension.ReflectiveInvocationContext;

/**
 * Lets the methods of a test act for the clinic {@code default}, as a request does that the test
 * does without. Goes before {@code @QuarkusTest}.
 */
public final class ActsForHome implements InvocationInterceptor {
  /** The clinic of tests that serve one. */
  public static final String HOME = "default";

  private static void acting(Invocation<Void> invocation) throws Throwable {
    Throwable[] failed = new Throwable[1];
    ActingClinic.during(
        HOME,
        () -> {
          try {
            invocation.proceed();
          } catch (Throwable e) {
            failed[0] = e;
          }
        });
    if (failed[0] != null) {
      throw failed[0];
    }
  }

  @Override
  public void interceptBeforeEachMethod(
      Invocation<Void> invocation,
      ReflectiveInvocationContext<Method> method,
      ExtensionContext context)
      throws Throwable {
    acting(invocation);
  }

  @Override
  public void interceptAfterEachMethod(
      Invocation<Void> invocation,
      ReflectiveInvocationContext<Method> method,
      ExtensionContext context)
      throws Throwable {
    acting(invocation);
  }

  @Override
  public void interceptTestMethod(
      Invocation<Void> invocation,
      ReflectiveInvocationContext<Method> method,
      ExtensionContext context)
      throws Throwable {
    acting(invocation);
  }

  @Override
  public void interceptTestTemplateMethod(
      Invocation<Void> invocation,
      ReflectiveInvocationContext<Method> method,
      ExtensionContext context)
      throws Throwable {
    acting(invocation);
  }
}
