namespace Hindbeat.Bench.Desk;

/// <summary>
/// Keeps the results last asked for, at most a few, because a minute of sound is megabytes. Whoever asks while a
/// result is being made waits for it instead of making it again. A failure is not kept.
/// </summary>
internal sealed class Kept<T>(int most)
{
    private readonly Lock _gate = new();
    private readonly LinkedList<(string Key, Lazy<T> Value)> _entries = [];

    public T For(string key, Func<T> make)
    {
        Lazy<T> value;
        lock (_gate)
        {
            LinkedListNode<(string Key, Lazy<T> Value)>? node = _entries.First;
            while (node is not null && node.Value.Key != key)
                node = node.Next;
            if (node is not null)
                _entries.Remove(node);
            value = node?.Value.Value ?? new Lazy<T>(make);
            _entries.AddFirst((key, value));
            if (_entries.Count > most)
                _entries.RemoveLast();
        }

        try
        {
            return value.Value;
        }
        catch
        {
            lock (_gate)
            {
                for (LinkedListNode<(string Key, Lazy<T> Value)>? node = _entries.First; node is not null; node = node.Next)
                {
                    if (ReferenceEquals(node.Value.Value, value))
                    {
                        _entries.Remove(node);
                        break;
                    }
                }
            }

            throw;
        }
    }
}
