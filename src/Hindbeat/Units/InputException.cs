namespace Hindbeat.Units;

/// <summary>
/// The input cannot be used. The message is one line that a person can act on: what is wrong and the
/// likely mistake. The command line prints it and ends with exit code 1.
/// </summary>
public sealed class InputException : Exception
{
    public InputException()
        : this("The input cannot be used.")
    {
    }

    public InputException(string message)
        : base(message)
    {
    }

    public InputException(string message, Exception innerException)
        : base(message, innerException)
    {
    }
}
